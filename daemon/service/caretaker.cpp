#include "daemon/service/caretaker.hpp"

namespace standfast {

bool Caretaker::look(const Service::Standing& standing) {
  look_at_clock();
  return all_got_on(standing.progress);
}

void Caretaker::look_at_clock() {
  const std::int64_t difference = parts_.wall().ns - parts_.clock.now().ns;
  const std::int64_t step = wall_less_boot_ns_ ? difference - *wall_less_boot_ns_ : 0;
  wall_less_boot_ns_ = difference;  // Slow drift is no step: each second counts from the one before.
  if (step >= clock_step_least.ns || step <= -clock_step_least.ns) parts_.inbox.add_news(ClockStep{{step}});
}

void FileWatch::look(const Service::Standing& standing) {
  if (!standing.job) return;
  const FilesOnDisk found = folder_.compare(standing.rig_sha256, standing.plan_sha256);
  const Compared now{standing.rig_sha256, standing.plan_sha256, found.rig_differs, found.plan_differs};
  if (told_ == now) return;
  told_ = now;
  inbox_.add_news(found);
}

bool Caretaker::all_got_on(const std::vector<std::int64_t>& progress) {
  if (progress.size() == progress_.size())
    for (std::size_t i = 0; i < progress.size(); ++i)
      if (progress[i] == progress_[i]) return false;
  progress_ = progress;
  return true;
}

}  // namespace standfast
