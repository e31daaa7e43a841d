// The same site under another job: its own, changed in one place.
#pragma once

#include <algorithm>
#include <memory>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "tests/support/site.hpp"

namespace standfast::test {

template <class Change>
void change_job(Site& site, Change change) {
  auto changed = std::make_shared<Job>(*site.state().job);
  change(*changed);
  site.tell(JobInForce{std::move(changed)});
}

template <class Named>
std::uint16_t place_by_name(const std::vector<Named>& all, const std::string& name) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const Named& each) { return each.name == name; });
  if (found == all.end()) throw std::runtime_error("nothing is called " + name);
  return static_cast<std::uint16_t>(found - all.begin());
}

template <class Named>
Named& by_name(std::vector<Named>& all, const std::string& name) {
  return all[place_by_name(all, name)];
}

inline Channel& channel_of(Job& job, const std::string& name) { return by_name(job.rig.channels, name); }

inline Stage& stage_of(Job& job, const std::string& name) {
  for (Stage& stage : job.plan.stages)
    if (stage.name == name) return stage;
  throw std::runtime_error("no stage " + name);
}

inline Limit& limit_of(Job& job, const std::string& stage, const std::string& name) { return by_name(stage_of(job, stage).limits, name); }

// The plan of the scenarios takes a load that falls for support that is lost; not in this test.
inline void let_loads_fall(Site& site) {
  change_job(site, [](Job& job) {
    std::erase_if(stage_of(job, "Raise").limits, [](const Limit& limit) { return limit.name.starts_with("load falls"); });
  });
  site.pass(seconds(1));
}

inline QuantityRef movement_of_head(const Job& job, Since since = Since::baseline) {
  return {.kind = QuantityKind::movement, .subjects = {place_by_name(job.rig.points, "HEAD")}, .since = since,
          .dimension = {Base::length, Per::none}};
}

inline QuantityRef temperature_of(const Job& job, const std::string& channel) {
  return {.kind = QuantityKind::temperature, .subjects = {place_by_name(job.rig.channels, channel)},
          .dimension = {Base::temperature, Per::none}};
}

inline const Reading& reading_of(const Site& site, const std::string& channel) {
  return site.state().values.channels[place_by_name(site.job().rig.channels, channel)].reading;
}

inline const LimitMemory& memory_of(const Site& site, const std::string& limit) {
  return site.state().limits[place_by_name(site.state().limits, limit)];
}

inline const Alarm* alarm_of(const Site& site, const std::string& subject, Level level) {
  for (const Alarm& alarm : site.state().alarms.open)
    if (alarm.subject == subject && alarm.level == level) return &alarm;
  return nullptr;
}

// What tests/scenarios calls the limit of J1's share.
inline const std::string share_of_j1 = "share, share J1 from planned";

inline void head_at(Site& site, double value) {
  for (const char* gauge : {"G1", "G2"}) site.shows(gauge, value);
}

// The first start of the scenarios' job, every instrument good, nothing entered.
inline Site first_start(std::shared_ptr<const Job> job) {
  Site site(std::move(job));
  for (const Channel& channel : site.job().rig.channels) site.shows(channel.name, channel.dimension.base == Base::temperature ? 291 : 0);
  for (const Jack& jack : site.job().rig.jacks) site.shows(site.job().rig.channels[jack.stroke_channel->at()].name, 20 * mm);
  site.pass(seconds(1));
  reset_all(site);
  return site;
}

}  // namespace standfast::test
