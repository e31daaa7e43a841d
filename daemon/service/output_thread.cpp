#include "daemon/service/output_thread.hpp"

#include "config/line_load.hpp"

namespace standfast {

OutputThread::OutputThread(Parts parts, const Clock& clock, Inbox& inbox)
    : parts_{std::move(parts)}, pass_{*parts_.module, parts_.settings, clock}, inbox_{inbox} {
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
  int tries = last_tries;
  while (true) {
    const Wanted wanted = slot_.wait(period);
    OutputPass::Done done = pass_.once(wanted);
    progress_.fetch_add(1);
    if (wanted.last && (done.report.flaw == Flaw::none || --tries == 0)) return;
    if (done.worth_telling) inbox_.add_report(std::move(done.report));
  }
}

}  // namespace standfast
