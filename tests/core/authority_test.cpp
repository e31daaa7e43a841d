// Who may do what: every act, every permit and every reset, by every role, with and without a second person.
#include <catch2/catch.hpp>

#include <iostream>

#include "daemon/core/authority.hpp"

namespace standfast::test {
namespace {

constexpr Role roles[] = {Role::technician, Role::supervisor, Role::engineer, Role::auditor, Role::surveyor};

struct Row {
  std::string what;
  Requirement requirement;
  std::string least, second;  // As the table of authority says; second: "" none, "anybody", or a role.
};

Alarm alarm(Level level, Cause cause, std::int32_t channel = -1, bool engineers = false) {
  return {.cause = cause, .level = level, .channel = channel, .reset_by_engineer = engineers};
}

std::vector<Row> rows() {
  return {
      {"permit raise", to_permit(PermitKind::raise), "supervisor", ""},
      {"permit top-up", to_permit(PermitKind::top_up), "supervisor", ""},
      {"permit lower", to_permit(PermitKind::lower), "supervisor", "engineer"},
      {"permit commission", to_permit(PermitKind::commission), "supervisor", "technician"},
      {"permit recover at HOLD", to_permit(PermitKind::recover), "supervisor", "anybody"},
      {"reset: instrument HOLD, good again for 5 s within 3 sigma",
       to_reset(alarm(Level::hold, Cause::stale, 3), true, false), "technician", ""},
      {"reset: instrument HOLD, not yet calm", to_reset(alarm(Level::hold, Cause::stale, 3), false, false), "supervisor", ""},
      {"reset: output HOLD", to_reset(alarm(Level::hold, Cause::output_silent), false, false), "supervisor", ""},
      {"reset: record HOLD", to_reset(alarm(Level::hold, Cause::record_unhealthy), false, false), "supervisor", ""},
      {"reset: restart HOLD", to_reset(alarm(Level::hold, Cause::start_up), false, false), "supervisor", ""},
      {"reset: limit HOLD", to_reset(alarm(Level::hold, Cause::limit), false, false), "supervisor", ""},
      {"reset: limit HOLD of the engineer's", to_reset(alarm(Level::hold, Cause::limit, -1, true), false, false), "engineer", ""},
      {"reset: called stop", to_reset(alarm(Level::stop, Cause::called_stop), false, false), "supervisor", "anybody"},
      {"reset: called stop beside another STOP", to_reset(alarm(Level::stop, Cause::called_stop), false, true), "engineer", "anybody"},
      {"reset: STOP", to_reset(alarm(Level::stop, Cause::limit), false, false), "engineer", "anybody"},
      {"reset: STOP of an instrument, calm again", to_reset(alarm(Level::stop, Cause::stale, 3), true, false), "engineer", "anybody"},
      {"accept an uncertain reading", to_act(Act::accept_uncertain), "engineer", ""},
      {"enter a stage", to_act(Act::stage_enter), "supervisor", ""},
      {"abandon a stage", to_act(Act::stage_abandon), "supervisor", ""},
      {"skip a stage", to_act(Act::stage_skip), "engineer", "anybody"},
      {"plan or rig revision in force", to_act(Act::adopt), "engineer", "anybody"},
      {"propose for approval", to_act(Act::stage_propose), "technician", ""},
      {"begin a proof", to_act(Act::prove_start), "technician", ""},
      {"enter a note", to_act(Act::enter_note), "surveyor", ""},
      {"offer a file", to_act(Act::offer), "technician", ""},
  };
}

int rank(const std::string& role) { return role == "technician" ? 1 : role == "supervisor" ? 2 : role == "engineer" ? 3 : 0; }
bool reaches(Role role, const std::string& least) { return rank(std::string(role_name(role))) >= rank(least); }

bool is_allowed(const Row& row, const PersonClaim& one, const PersonClaim& two) {
  Action action;
  action.person = one;
  action.second = two;
  return !missing(row.requirement, action);
}

bool should_be(const Row& row, Role one, Role two) {
  const auto fits = [&](Role first, Role second) {
    return reaches(first, row.least) && (row.second == "anybody" || reaches(second, row.second));
  };
  return fits(one, two) || fits(two, one);
}

}  // namespace

TEST_CASE("the table of authority holds for every act, every role and every pair of roles") {
  for (const Row& row : rows()) {
    INFO(row.what);
    CHECK_FALSE(is_allowed(row, {}, {}));
    for (const Role one : roles) {
      INFO(role_name(one));
      CHECK(is_allowed(row, {"A", one}, {}) == (row.second.empty() && reaches(one, row.least)));
      CHECK_FALSE(is_allowed(row, {"", one}, {}));
      CHECK_FALSE(is_allowed(row, {"A", one}, {"A", Role::engineer}));  // Two persons are two different ones.
      if (row.second.empty()) continue;
      for (const Role two : roles) CHECK(is_allowed(row, {"A", one}, {"B", two}) == should_be(row, one, two));
    }
  }
}

// For DEVELOPERS.md: `test_core "[table]"` prints it.
TEST_CASE("the table of authority, printed", "[.][table]") {
  std::cout << "| act | least | second person |\n|---|---|---|\n";
  for (const Row& row : rows()) std::cout << "| " << row.what << " | " << row.least << " | " << row.second << " |\n";
}

}  // namespace standfast::test
