// The life of a stage and of an alarm, cell by cell.
#include <catch2/catch.hpp>

#include <array>
#include <iostream>
#include <string_view>

#include "daemon/core/alarm_table.hpp"
#include "daemon/core/stage_run.hpp"
#include "daemon/core/stage_table.hpp"

namespace standfast::test {
namespace {

using enum StageState;
using H = StageHappening;

constexpr std::array<std::string_view, stage_state_count> states{"planned", "running", "observation", "criteria met", "awaiting approval",
                                                                 "approved", "closed", "abandoned", "skipped"};
constexpr std::array<std::string_view, stage_happening_count> happenings{"entered", "reached", "left", "met", "lost", "proposed",
                                                                         "approved", "next step", "last step done", "abandoned", "skipped"};

struct Move { StageState from; H happening; StageState to; };

// Every cell that changes something; in all others the state stands.
constexpr Move moves[] = {
    {planned, H::entered, running}, {planned, H::skipped, skipped},
    {running, H::reached, observation}, {running, H::met, criteria_met}, {running, H::abandoned, abandoned},
    {observation, H::left, running}, {observation, H::met, criteria_met}, {observation, H::abandoned, abandoned},
    {criteria_met, H::left, running}, {criteria_met, H::lost, observation}, {criteria_met, H::proposed, awaiting_approval},
    {criteria_met, H::abandoned, abandoned},
    {awaiting_approval, H::left, running}, {awaiting_approval, H::lost, observation}, {awaiting_approval, H::approved, approved},
    {awaiting_approval, H::abandoned, abandoned},
    {approved, H::next_step, running}, {approved, H::last_step_done, closed},
    {closed, H::entered, running}, {abandoned, H::entered, running}, {abandoned, H::skipped, skipped}, {skipped, H::entered, running},
};

StageState expected(StageState from, H happening) {
  for (const Move& move : moves)
    if (move.from == from && move.happening == happening) return move.to;
  return from;
}

}  // namespace

TEST_CASE("a stage goes on by these moves and no others: every cell of its table") {
  for (int s = 0; s < stage_state_count; ++s)
    for (int h = 0; h < stage_happening_count; ++h) {
      INFO(states[static_cast<std::size_t>(s)] << ", " << happenings[static_cast<std::size_t>(h)]);
      const auto from = static_cast<StageState>(s);
      const auto happening = static_cast<H>(h);
      CHECK(after(from, happening) == expected(from, happening));
    }
}

TEST_CASE("a stage closes only through approval, and its limits are those of a live stage until then") {
  for (int s = 0; s < stage_state_count; ++s)
    for (int h = 0; h < stage_happening_count; ++h) {
      const auto from = static_cast<StageState>(s);
      if (after(from, static_cast<H>(h)) != closed) continue;
      CHECK((from == closed || from == approved));
    }
  for (const StageState live : {running, observation, criteria_met, awaiting_approval, approved}) CHECK(is_live(live));
  for (const StageState not_live : {planned, closed, abandoned, skipped}) CHECK_FALSE(is_live(not_live));
}

TEST_CASE("four kinds of stage are alive in this version") {
  int alive = 0;
  for (int k = 0; k < stage_kind_count; ++k) alive += is_in_this_version(static_cast<StageKind>(k));
  CHECK(alive == 4);
  for (const StageKind kind : {StageKind::commission, StageKind::baseline, StageKind::snug, StageKind::raise})
    CHECK(is_in_this_version(kind));
}

namespace {

template <std::size_t States, std::size_t Happenings, class After>
void print(const std::array<std::string_view, States>& from, const std::array<std::string_view, Happenings>& by, After to) {
  std::cout << "| |";
  for (const auto& each : by) std::cout << ' ' << each << " |";
  std::cout << "\n|---|";
  for (std::size_t h = 0; h < Happenings; ++h) std::cout << "---|";
  for (std::size_t s = 0; s < States; ++s) {
    std::cout << "\n| " << from[s] << " |";
    for (std::size_t h = 0; h < Happenings; ++h) std::cout << ' ' << (to(s, h) == s ? std::string_view("") : from[to(s, h)]) << " |";
  }
  std::cout << "\n\n";
}

}  // namespace

// For DEVELOPERS.md: `test_core "[table]"` prints them. An empty cell: nothing changes.
TEST_CASE("the tables of stages and alarms, printed", "[.][table]") {
  print(states, happenings, [](std::size_t s, std::size_t h) {
    return static_cast<std::size_t>(after(static_cast<StageState>(s), static_cast<H>(h)));
  });
  constexpr std::array<std::string_view, alarm_state_count> alarm_states{"normal",
                                                                         "unacknowledged",
                                                                         "acknowledged",
                                                                         "returned, unacknowledged",
                                                                         "latched, unacknowledged",
                                                                         "latched, acknowledged",
                                                                         "out of service"};
  constexpr std::array<std::string_view, alarm_happening_count> alarm_happenings{
      "condition", "gone", "gone, latches", "acknowledged", "reset", "repeated", "withdrawn", "returned"};
  print(alarm_states, alarm_happenings, [](std::size_t s, std::size_t h) {
    return static_cast<std::size_t>(after(static_cast<AlarmState>(s), static_cast<AlarmHappening>(h)));
  });
}

}  // namespace standfast::test
