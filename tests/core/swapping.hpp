// An instrument swapped in the middle of the scenarios' job, act by act.
#pragma once

#include <catch2/catch.hpp>
#include <string>

#include "tests/core/changes.hpp"

namespace standfast::test {

inline const std::string new_gauge = "G-207 due 2099-03-01";

// The second step of raising; the head stands 0.3 mm up.
inline Site at_work_with_head_up() {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  head_at(site, 0.3 * mm);
  site.pass(seconds(15));
  site.act({.what = Act::acknowledge});
  return site;
}

inline const ChannelState& channel_state(const Site& site, const std::string& channel) {
  return site.state().values.channels[place_by_name(site.job().rig.channels, channel)];
}
inline const Segment& segment_of(const Site& site, const std::string& channel) { return channel_state(site, channel).segment; }

inline std::string begin_swap(Site& site, const std::string& channel, const std::string& certificate = new_gauge) {
  return site.act({.what = Act::swap_begin, .object = channel, .value = certificate, .by = technician, .with = supervisor});
}
inline std::string prove_swap(Site& site, const std::string& channel, const std::string& by_what) {
  return site.act({.what = Act::swap_prove, .object = channel, .value = by_what, .by = technician});
}
inline std::string approve_swap(Site& site, const std::string& channel, const PersonClaim& by = engineer) {
  return site.act({.what = Act::swap_approve, .object = channel, .by = by});
}
inline std::string abandon_swap(Site& site, const std::string& channel, const std::string& reason) {
  return site.act({.what = Act::swap_abandon, .object = channel, .value = {}, .reason = reason, .by = technician});
}

// The head creeps up beside G1: no step of a gauge that is alone.
inline void creeps(Site& site, const std::string& channel, double from, double to) {
  for (int part = 1; part <= 4; ++part) {
    site.shows(channel, from + (to - from) * part / 4);
    site.pass(seconds(1));
  }
}

// The feeler goes under the gauge, stays for some seconds and is drawn; the gauge shows what it is said to.
inline void feeler_goes(Site& site, const std::string& channel, double without, double with, double after) {
  site.shows(channel, without);
  site.pass(seconds(5));
  REQUIRE(prove_swap(site, channel, "feeler 1.00 mm") == "done");
  site.shows(channel, with);
  site.pass(seconds(5));
  site.shows(channel, after);
  site.pass(seconds(5));
}

// The newest proof of that name.
inline const ProofResult* proof_row(const Site& site, const std::string& proof) {
  const ProofResult* newest = nullptr;
  for (const EffectRow& row : site.rows)
    if (const auto* result = std::get_if<ProofResult>(&row); result && result->proof == proof) newest = result;
  return newest;
}

inline std::string refusal_text(const Site& site) {
  for (const EffectRow& row : site.newest().rows)
    if (const auto* answer = std::get_if<ActionAnswer>(&row)) return answer->text;
  return {};
}

}  // namespace standfast::test
