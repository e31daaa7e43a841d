#include "daemon/core/alarms.hpp"

#include <catch2/catch.hpp>

using namespace standfast;

namespace {

using Rows = std::vector<EffectRow>;

struct Told {
  Alarms alarms;
  Rows rows;
  Instant now{};

  void present(std::vector<Condition> conditions) {
    now = now + seconds(1);
    settle(alarms, conditions, now, {}, rows);
  }
  void person(AlarmHappening happening, std::size_t place = 0) { happen(alarms, place, happening, "A. Wren", now, rows); }
};

Condition hold(std::string subject = "movement HEAD") {
  return {.subject = std::move(subject), .cause = Cause::limit, .level = Level::hold};
}
Condition review() { return {.subject = "temperature T1", .cause = Cause::limit, .level = Level::review}; }

}  // namespace

TEST_CASE("every cell of the alarm table holds a state, and only a reset brings a latched alarm back") {
  for (int s = 0; s < alarm_state_count; ++s)
    for (int h = 0; h < alarm_happening_count; ++h) {
      const auto from = static_cast<AlarmState>(s);
      const auto happening = static_cast<AlarmHappening>(h);
      const AlarmState to = after(from, happening);
      REQUIRE(static_cast<int>(to) < alarm_state_count);
      const bool latched = from == AlarmState::latched_acknowledged || from == AlarmState::latched_unacknowledged;
      if (latched && to == AlarmState::normal) {
        CHECK(from == AlarmState::latched_acknowledged);
        CHECK(happening == AlarmHappening::reset);
      }
    }
}

TEST_CASE("acknowledging resets nothing and silences no alarm's effect") {
  Told told;
  told.present({hold()});
  told.person(AlarmHappening::acknowledged);
  CHECK(signal_of(told.alarms) == Level::hold);
  told.present({});
  CHECK(told.alarms.open[0].state == AlarmState::latched_acknowledged);
  CHECK(signal_of(told.alarms) == Level::hold);
}

TEST_CASE("HOLD latches: gone it stays until acknowledged and reset") {
  Told told;
  told.present({hold()});
  told.present({});
  CHECK(told.alarms.open[0].state == AlarmState::latched_unacknowledged);
  told.person(AlarmHappening::reset);
  CHECK(told.alarms.open[0].state == AlarmState::latched_unacknowledged);
  told.person(AlarmHappening::acknowledged);
  told.person(AlarmHappening::reset);
  CHECK(told.alarms.open.empty());
  CHECK(signal_of(told.alarms) == Level::none);
}

TEST_CASE("a condition that comes back to a latched alarm makes it unacknowledged again") {
  Told told;
  told.present({hold()});
  told.present({});
  told.person(AlarmHappening::acknowledged);
  told.present({hold()});
  CHECK(told.alarms.open[0].state == AlarmState::unacknowledged);
  CHECK(told.alarms.open[0].number == 1);
}

TEST_CASE("REVIEW stays until acknowledged and gone, in either order, and needs no reset") {
  Told told;
  told.present({review()});
  told.present({});
  CHECK(told.alarms.open[0].state == AlarmState::returned_unacknowledged);
  CHECK(signal_of(told.alarms) == Level::review);
  told.person(AlarmHappening::acknowledged);
  CHECK(told.alarms.open.empty());
  told.present({review()});
  told.person(AlarmHappening::acknowledged);
  told.present({});
  CHECK(told.alarms.open.empty());
}

TEST_CASE("first-out opens with the first HOLD or STOP while none is active or latched") {
  Told told;
  told.present({review()});
  told.present({review(), hold("share J1")});
  told.present({review(), hold("share J1"), hold("load J2")});
  CHECK_FALSE(told.alarms.open[0].first_out);
  CHECK(told.alarms.open[1].first_out);
  CHECK_FALSE(told.alarms.open[2].first_out);
  told.present({hold("load J2")});
  told.present({hold("load J2"), hold("load J3")});
  CHECK_FALSE(told.alarms.open.back().first_out);
}

TEST_CASE("each alarm has exactly one open episode, and a number is never used again") {
  Told told;
  for (int round = 0; round < 3; ++round) {
    told.present({review()});
    told.present({review()});
    CHECK(told.alarms.open.size() == 1);
    CHECK(told.alarms.open[0].number == round + 1);
    told.person(AlarmHappening::acknowledged);
    told.present({});
  }
}

TEST_CASE("an instrument that was doubted and now is silent is told anew, acknowledged or not; another silence is no news") {
  Told told;
  Condition doubted{.subject = "instrument T1", .cause = Cause::certificate_overdue, .level = Level::review};
  told.present({doubted});
  told.person(AlarmHappening::acknowledged);
  told.rows.clear();
  told.present({doubted});
  CHECK(told.rows.empty());
  Condition silent = doubted;
  silent.cause = Cause::no_answer;
  told.present({silent});
  REQUIRE(told.rows.size() == 1);
  const auto& change = std::get<AlarmChange>(told.rows[0]);
  CHECK(change.cause == Cause::no_answer);
  CHECK(change.from == AlarmState::acknowledged);
  CHECK(change.to == AlarmState::unacknowledged);
  CHECK(told.alarms.open[0].cause == Cause::no_answer);
  told.rows.clear();
  silent.cause = Cause::not_connected;
  told.present({silent});
  told.present({doubted});
  told.present({silent});
  CHECK(told.rows.empty());
  silent.cause = Cause::wrong_instrument;  // That sends the crew elsewhere.
  told.present({silent});
  REQUIRE(told.rows.size() == 1);
  CHECK(std::get<AlarmChange>(told.rows[0]).cause == Cause::wrong_instrument);
  told.rows.clear();
  told.present({silent});
  CHECK(told.rows.empty());
}

TEST_CASE("of alarms of one level the first that nobody has acknowledged is told; where all are, the first of them") {
  Told told;
  const auto reviews = [](std::initializer_list<const char*> subjects) {
    std::vector<Condition> conditions;
    for (const char* subject : subjects) conditions.push_back({.subject = subject, .cause = Cause::limit, .level = Level::review});
    return conditions;
  };
  told.present(reviews({"one"}));
  told.person(AlarmHappening::acknowledged, 0);
  CHECK(leading(told.alarms)->subject == "one");
  told.present(reviews({"one", "two"}));
  CHECK(leading(told.alarms)->subject == "two");
  told.present(reviews({"one", "two", "three"}));
  CHECK(leading(told.alarms)->subject == "two");
  told.person(AlarmHappening::acknowledged, 1);
  CHECK(leading(told.alarms)->subject == "three");
  told.person(AlarmHappening::acknowledged, 2);
  CHECK(leading(told.alarms)->subject == "one");
  std::vector<Condition> worse = reviews({"one", "two", "three"});
  worse.push_back(hold());
  told.present(worse);
  told.person(AlarmHappening::acknowledged, 3);
  told.present(reviews({"one", "two", "three", "four"}));
  CHECK(leading(told.alarms)->subject == "movement HEAD");  // Acknowledged and gone it is the worst all the same.
}

TEST_CASE("an alarm that stands is told before one of its level that is over, looked at or not") {
  Told told;
  const Condition first{.subject = "first", .cause = Cause::limit, .level = Level::hold};
  const Condition second{.subject = "second", .cause = Cause::limit, .level = Level::hold};
  told.present({first});
  told.present({second});
  CHECK(leading(told.alarms)->subject == "second");
  told.person(AlarmHappening::acknowledged, 1);
  CHECK(leading(told.alarms)->subject == "second");
  told.present({});
  CHECK(leading(told.alarms)->subject == "first");
}

TEST_CASE("an alarm knows since when its condition is over, and forgets that when it is back") {
  Told told;
  told.present({hold()});
  CHECK_FALSE(told.alarms.open[0].gone_at);
  told.present({});
  CHECK(told.alarms.open[0].gone_at == told.now);
  told.present({});
  CHECK(told.alarms.open[0].gone_at == told.now - seconds(1));
  told.present({hold()});
  CHECK_FALSE(told.alarms.open[0].gone_at);
}
