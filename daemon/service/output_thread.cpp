#include "daemon/service/output_thread.hpp"

#include "config/line_load.hpp"

namespace standfast {

OutputThread::OutputThread(Parts parts, const Clock& clock, Inbox& inbox)
    : clock_{clock}, parts_{std::move(parts)}, pass_{*parts_.module, parts_.settings, clock}, inbox_{inbox} {
  thread_ = std::thread{[this] { run(); }};
}

OutputThread::~OutputThread() {
  Wanted nothing;
  nothing.last = true;
  slot_.put(nothing);
  thread_.join();
}

void OutputThread::run() {
  const Duration period = pause_between_exchanges(parts_.settings.heartbeat_period);
  Duration pause = period;
  int tries = last_tries;
  while (true) {
    const Wanted wanted = slot_.wait(pause);
    const Instant begun = clock_.now();
    OutputPass::Done done = pass_.once(wanted);
    // A module that keeps silent on a serial line leaves the instruments there half of it.
    pause = done.report.answered() ? period : std::max(period, clock_.now() - begun);
    progress_.fetch_add(1);
    if (wanted.last && (done.report.answered() || --tries == 0)) return;
    if (done.worth_telling) inbox_.add_report(std::move(done.report));
  }
}

}  // namespace standfast
