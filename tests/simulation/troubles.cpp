#include "tests/simulation/troubles.hpp"

namespace standfast::test {

Troubles::Troubles(const World& world, std::uint64_t seed) : world_{world}, random_{seed} {
  for (bool& on : on_) on = random_.one_in(2);
  calm_ = random_.one_in(3) ? 10 : 1;
  next_ = world_.clock.now() + next_calm();
}

void Troubles::clock_went_back(Duration by) {
  next_ = next_ - by;
  if (mend_at_) *mend_at_ = *mend_at_ - by;
}

void Troubles::show_wires(Daemon& daemon) const {
  daemon.instruments().state = instruments_;
  daemon.outputs().state = outputs_;
}

void Troubles::turn(Daemon* daemon) {
  const Instant now = world_.clock.now();
  if (mend_at_ && *mend_at_ <= now) {
    end_cluster();
  } else {
    if (!mend_at_) mend_at_ = now + seconds(2 + random_.below(random_.one_in(4) ? 300 : 40));
    for (int times = 0; times < 3; ++times)
      if (const auto what = static_cast<std::size_t>(random_.below(trouble_count)); on_[what]) happen(static_cast<Trouble>(what), daemon);
    next_ = now + milliseconds(100 + random_.below(10'000));
  }
  if (daemon) show_wires(*daemon);
}

// The site's own faults stay until somebody mends them.
void Troubles::end_cluster() {
  mend_at_.reset();
  next_ = world_.clock.now() + next_calm();
  instruments_ = outputs_ = {};
  world_.disk.refuse(false);
  say("unit 1 answers");
  say("unit 9 answers");
  say("mend manifold");
}

void Troubles::happen(Trouble what, Daemon* daemon) {
  ++happened;
  if (what <= Trouble::registers_frozen) return happen_on_wires(what);
  switch (what) {
    case Trouble::killed: death_ = Death{milliseconds(300 + random_.below(random_.one_in(3) ? 120'000 : 4'000))}; return;
    case Trouble::machine_restarts: death_ = Death{seconds(15 + random_.below(200)), true}; return;
    case Trouble::wall_clock: return world_.clock.step_wall(milliseconds(random_.below(7'200'000) - 3'600'000));
    case Trouble::disk_refuses: return world_.disk.refuse(random_.one_in(2));
    case Trouble::stall: return world_.clock.pass(milliseconds(random_.below(3'000)));
    case Trouble::record_fails: case Trouble::queue_full: case Trouble::files_differ:
      if (daemon) happen_to_daemon(what, *daemon);
      return;
    default: return happen_on_site(what);
  }
}

void Troubles::happen_on_wires(Trouble what) {
  WireState& wire = what == Trouble::module_spoils || what == Trouble::module_pulled ? outputs_ : instruments_;
  switch (what) {
    case Trouble::wire_spoils: case Trouble::module_spoils:
      wire.one_in = 1 + random_.below(random_.one_in(2) ? 4 : 60);
      for (bool& may : wire.may_be) may = random_.one_in(2);
      return;
    case Trouble::wire_pulled: case Trouble::module_pulled: wire.pulled = random_.one_in(2); return;
    case Trouble::unit_silent: return say(random_.one_in(4) ? "unit 9 silent" : "unit 1 silent");
    case Trouble::unit_busy: return say(random_.one_in(2) ? "unit 1 busy" : "unit 1 failing");
    default: return say("wire manifold frozen");
  }
}

void Troubles::happen_to_daemon(Trouble what, Daemon& daemon) {
  if (what == Trouble::record_fails) daemon.record_fails();
  else if (what == Trouble::queue_full) daemon.tell(QueueOverflow{1 + random_.below(50)});
  else daemon.tell(FilesOnDisk{random_.one_in(2), random_.one_in(2)});
}

void Troubles::happen_on_site(Trouble what) {
  const auto& channels = world_.job.rig.channels;
  const std::string channel = channels[static_cast<std::size_t>(random_.below(std::ssize(channels)))].name;
  const auto tenths = [&](std::int64_t most) {
    const auto all = std::to_string(random_.below(most));
    return all + "." + std::to_string(random_.below(10));
  };
  switch (what) {
    case Trouble::instrument: {
      static constexpr const char* faults[] = {" stuck", " unplugged", " noisy 20", " noisy 0"};
      if (random_.one_in(3) && (channel[0] == 'G' || channel[0] == 'B')) return say("gauge " + channel + " knocked +" + tenths(2) + " mm");
      return say("gauge " + channel + faults[random_.below(4)]);
    }
    case Trouble::contact:
      tampered_ = lately_tampered_ = true;
      return say(std::string("contact ") + (random_.one_in(2) ? "raise_permit" : "stop_relay") + (random_.one_in(2) ? " welded" : " open"));
    case Trouble::other_master:
      tampered_ = lately_tampered_ = true;
      return say(std::string("second master writes raise_permit ") + (random_.one_in(2) ? "on" : "off"));
    case Trouble::site_stop: return say(random_.one_in(2) ? "site stop pressed" : "site stop let go");
    case Trouble::module_restarts: return say("module restarted");
    case Trouble::leak: return say("leak " + any_jack() + " " + tenths(3) + " bar/min");
    case Trouble::head_pushed: return say("head pushed +" + tenths(2) + " mm over " + std::to_string(1 + random_.below(60)) + " s");
    case Trouble::weight: {
      const std::string weight = tenths(60) + " kN over 5 s";
      undo_.push_back("weight -" + weight);
      return say("weight " + weight);
    }
    default: {
      const std::string jack = any_jack(), by = tenths(2);
      undo_.push_back("base " + jack + " sinks -" + by + " mm");
      return say("base " + jack + " sinks " + by + " mm over " + std::to_string(1 + random_.below(60)) + " s");
    }
  }
}

void Troubles::pull_cable() {
  outputs_.pulled = true;
  if (!mend_at_) mend_at_ = next_ = world_.clock.now() + seconds(5);
  next_ = std::min(next_, *mend_at_);
}

void Troubles::mend_site() {
  for (const Channel& channel : world_.job.rig.channels) say("mend " + channel.name);
  for (const char* line : {"mend J1", "mend J2", "mend J3", "mend J4", "mend raise_permit", "mend stop_relay",
                           "site stop let go", "head let go"})
    say(line);
  for (const std::string& line : undo_) say(line);
  undo_.clear();
  tampered_ = false;
}

}  // namespace standfast::test
