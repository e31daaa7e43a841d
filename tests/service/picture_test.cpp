// What the picture says of a job, field by field: the grain store's rig and plan, values set by hand.
#include <boost/json.hpp>
#include <catch2/catch.hpp>

#include "daemon/core/limits.hpp"
#include "daemon/panel/shown_limits.hpp"
#include "daemon/panel/view.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;
namespace json = boost::json;

namespace {

constexpr std::size_t p1 = 0, s1 = 4;  // Places in the grain store's rig.

struct Shop {
  Folder folder;
  State state;
  LastNumbers last;

  Shop() {
    const auto revision = JobFolder{grain_store_in(folder)}.read();
    REQUIRE(revision);
    state.job = revision->job;
    state.values = start_values(*state.job);
    state.zeros.resize(state.job->rig.channels.size());
    const std::size_t inputs = state.job->rig.inputs.size();
    state.inputs.resize(inputs);
    state.input_known.resize(inputs);
    state.input_at.resize(inputs);
    state.run.states.assign(state.job->plan.stages.size(), StageState::planned);
    state.now = Instant{seconds(100).ns};
  }
  // At this second the channel shows so much, SI.
  void shows(std::size_t channel, double si, int second) {
    Reading& reading = state.values.channels[channel].reading;
    const Instant at{seconds(second).ns};
    reading = {Quality::good, Cause::none, {reading.value.dimension, si}, 0, Saturation::none, false, at, at};
    last.take(state);
  }
  void falls_silent(std::size_t channel) {
    state.values.channels[channel].reading.quality = Quality::bad;
    state.values.channels[channel].reading.cause = Cause::no_answer;
    state.values.channels[channel].reading.value.si = 0;
    last.take(state);
  }
  json::object picture() const {
    return json::parse(picture_json(state, {.now = state.now, .wall = {}, .job_folder = "job"}, last)).as_object();
  }
  json::object jack() const { return picture().at("jacks").at(0).as_object(); }
};

}  // namespace

TEST_CASE("what falls silent keeps its last number in the picture, with its age, and so does the load made of it") {
  Shop shop;
  CHECK_FALSE(shop.jack().at("load").as_object().contains("last"));
  shop.shows(p1, 40e6, 88);
  shop.falls_silent(p1);
  const json::object jack = shop.jack();
  CHECK(jack.at("load").at("quality") == "bad");
  CHECK(jack.at("pressure").at("last").at("text") == "400.0 bar");
  CHECK(jack.at("load").at("last").at("text") == "380.1 kN");  // 400 bar on 95.03 cm2.
  CHECK(jack.at("load").at("last").at("age_ms") == 12'000);
  CHECK(shop.picture().at("channels").at(p1).at("reading").at("last").at("text") == "400.0 bar");
  shop.shows(p1, 51e6, 100);
  CHECK_FALSE(shop.jack().at("load").as_object().contains("last"));
}

TEST_CASE("what is off its scale is told as that, on whichever side, and never as a number") {
  Shop shop;
  shop.shows(s1, 0.15, 100);
  shop.state.values.channels[s1].reading.saturated = Saturation::high;
  shop.state.values.channels[s1].reading.quality = Quality::uncertain;
  CHECK(shop.jack().at("travel_left").at("text") == "below its range");
}

TEST_CASE("another revision remembers no number of the one before") {
  Shop shop;
  shop.shows(s1, 0.02, 88);
  shop.state.job = std::make_shared<Job>(*shop.state.job);
  shop.falls_silent(s1);
  CHECK_FALSE(shop.jack().at("travel_left").as_object().contains("last"));
}

TEST_CASE("a permit names its circuits, and one for commissioning its pressure") {
  Shop shop;
  shop.state.permit.kind = PermitKind::raise;
  CHECK(shop.picture().at("permit").at("circuits") == "A B");
  shop.state.permit.circuits = "B";
  CHECK(shop.picture().at("permit").at("circuits") == "B");
  shop.state.permit = {};
  shop.state.permit.kind = PermitKind::commission;
  shop.state.permit.pressure_limit = 4e6;
  CHECK(shop.picture().at("permit").at("circuits") == "A B");
  CHECK(shop.picture().at("permit").at("up_to").at("text") == "40.0 bar");
}

TEST_CASE("a jack with a target shows the load, the pressure that makes it, and what is to go of both") {
  Shop shop;
  shop.shows(p1, 10e6, 100);
  shop.state.run.any = true;
  shop.state.run.stage = 3;  // Raise; its first step is a quarter of 1480 kN, of which J1 has 27.5 %: 101.75 kN, 107.07 bar.
  shop.state.run.states[3] = StageState::running;
  const json::object jack = shop.jack();
  CHECK(jack.at("target").at("text") == "101.8 kN");
  CHECK(jack.at("target_pressure").at("text") == "107.1 bar");
  CHECK(jack.at("to_go").at("text") == "6.7 kN");
  CHECK(jack.at("to_go_pressure").at("text") == "7.1 bar");
}

TEST_CASE("a limit that its value's uncertainty reaches is marked in the picture, and one moved inward for it is not") {
  Shop shop;
  Limit limit{.name = "load J1", .of = {.kind = QuantityKind::load, .subjects = {0}, .dimension = {Base::force, Per::none}}};
  LimitInForce each{.limit = limit};
  each.levels[1] = LevelInForce{.above = Amount{limit.of.dimension, 100e3}};
  each.levels[2] = LevelInForce{.above = Amount{limit.of.dimension, 120e3}};
  const Reading value{Quality::good, Cause::none, {limit.of.dimension, 99e3}, 600, Saturation::none, false, {}, {}};
  shop.state.in_force.limits = {each};
  shop.state.limits = {LimitMemory{.last = {value, value}, .name = "load J1"}};
  const auto limit_view = [&] { return shop.picture().at("limits").at(0).as_object(); };
  CHECK(limit_view().at("cannot_exclude") == true);
  CHECK(limit_view().at("hold").at("cannot_exclude") == true);
  CHECK(limit_view().at("stop").at("cannot_exclude") == false);
  shop.state.in_force.limits[0].levels[1]->guard_uncertainty = true;
  CHECK(limit_view().at("cannot_exclude") == false);
}

TEST_CASE("the signs of a limit are those of what it watches") {
  QuantityRef of{.kind = QuantityKind::movement};
  CHECK(goes_both_ways(of));
  of.kind = QuantityKind::load;
  CHECK_FALSE(goes_both_ways(of));
  of.rate = true;
  CHECK(goes_both_ways(of));
  of = {.kind = QuantityKind::share};
  CHECK_FALSE(goes_both_ways(of));
  of.from_planned = true;
  CHECK(goes_both_ways(of));
}

TEST_CASE("no key of the picture promises anything") {
  Shop shop;
  shop.shows(p1, 50e6, 88);
  const std::string text = json::serialize(shop.picture());
  for (const char* word : {"safe", "release", "emergency"}) CHECK(text.find(word) == std::string::npos);
}

TEST_CASE("a proof that failed says why in the rig's units") {
  Shop shop;
  constexpr Dimension length{Base::length, Per::none};
  shop.state.proofs.failures[1] = {"travel of J2 fell", Amount{length, 8e-5}, Amount{length, 5e-5}};
  shop.state.proofs.failures[2] = {"the permit was not seen to drop", {}, {}};
  const json::array proofs = shop.picture().at("proofs").as_array();
  CHECK(proofs.at(0).at("why") == "");
  CHECK(proofs.at(0).at("wants") == "in a commission stage, `permit commission` on");
  CHECK(proofs.at(1).at("wants") == "in a snug stage, every load in its band, `permit raise` or `top-up` on");
  CHECK(proofs.at(1).at("why") == "travel of J2 fell 0.08 mm, 0.05 mm is allowed");
  CHECK(proofs.at(2).at("why") == "the permit was not seen to drop");
}

TEST_CASE("an alarm whose condition is over says so, and what happened once is told as it was") {
  Shop shop;
  const auto why = [&](Cause cause, AlarmState state) {
    Alarm alarm;
    alarm.subject = "instrument G2";
    alarm.cause = cause;
    alarm.level = Level::hold;
    alarm.state = state;
    shop.state.alarms.open = {alarm};
    shop.state.signal = Level::hold;
    CHECK(shop.picture().at("signal").at("why") == shop.picture().at("alarms").at(0).at("why"));
    return std::string(shop.picture().at("alarms").at(0).at("why").as_string());
  };
  CHECK(why(Cause::no_answer, AlarmState::acknowledged) == "the instrument does not answer");
  CHECK(why(Cause::no_answer, AlarmState::latched_acknowledged) == "no longer: the instrument does not answer");
  CHECK(why(Cause::called_stop, AlarmState::latched_acknowledged) == "a person called stop");
}

TEST_CASE("a supply that fell below its limit is not called over because the pump stands") {
  Shop shop;
  auto job = std::make_shared<Job>(*shop.state.job);
  Limit limit{.name = "supply A", .of = {.kind = QuantityKind::supply, .subjects = {0}, .dimension = {Base::pressure, Per::none}}};
  job->plan.stages[0].limits.push_back(limit);
  shop.state.job = job;
  Alarm alarm;
  alarm.subject = "supply A";
  alarm.level = Level::hold;
  alarm.cause = Cause::limit;
  alarm.value = Amount{{Base::pressure, Per::none}, -4e6};
  const auto why = [&](AlarmState state) {
    alarm.state = state;
    shop.state.alarms.open = {alarm};
    return std::string(shop.picture().at("alarms").at(0).at("why").as_string());
  };
  CHECK(why(AlarmState::unacknowledged) == "beyond its limit");
  CHECK(why(AlarmState::latched_acknowledged) == "beyond its limit while the pump ran");
}

TEST_CASE("who may reset an alarm is told as it would be judged now") {
  Shop shop;
  shop.state.instruments.resize(shop.state.job->rig.channels.size());
  Alarm called, limit, lost;
  called.level = limit.level = Level::stop;
  called.cause = Cause::called_stop;
  limit.cause = Cause::limit;
  lost.level = Level::hold;
  lost.cause = Cause::no_answer;
  lost.channel = p1;
  const auto told = [&](std::vector<Alarm> open) {
    shop.state.alarms.open = std::move(open);
    return std::string(shop.picture().at("alarms").at(0).at("reset_by").as_string());
  };
  CHECK(told({called}) == "supervisor + second person");
  CHECK(told({called, limit}) == "engineer + second person");
  CHECK(told({lost}) == "supervisor");  // It never had a number.
  InstrumentMemory& memory = shop.state.instruments[p1];
  memory.before = 40e6;
  CHECK(told({lost}) == "supervisor; technician once calm 5 s");
  shop.shows(p1, 40e6, 95);
  memory.good_since = Instant{seconds(95).ns};
  CHECK(told({lost}) == "technician");
}

TEST_CASE("what a wire says of itself stands beside the reading, the alarm of its instrument and that of the whole bus") {
  Shop shop;
  shop.state.polls = new_poll_book(*shop.state.job);
  shop.falls_silent(p1);
  shop.state.values.channels[p1].reading.cause = Cause::not_connected;
  for (std::string& told : shop.state.polls.told) told = "/dev/ttyS1: No such file or directory";
  CHECK(shop.picture().at("channels").at(p1).at("reading").at("why") ==
        "no connection to the instrument: /dev/ttyS1: No such file or directory");
  Alarm one, all;
  one.subject = "instrument P1";
  one.channel = p1;
  one.cause = Cause::not_connected;
  all.subject = "all of bus manifold";
  all.cause = Cause::bus_silent;
  one.state = all.state = AlarmState::unacknowledged;
  shop.state.alarms.open = {one, all};
  const json::array alarms = shop.picture().at("alarms").as_array();
  CHECK(alarms.at(0).at("why") == "no connection to the instrument: /dev/ttyS1: No such file or directory");
  CHECK(alarms.at(1).at("why") == "nothing on it answers: /dev/ttyS1: No such file or directory");
}

TEST_CASE("the review of a bus whose polls fail says how many of how many, and how many were never sent") {
  Shop shop;
  shop.state.polls = new_poll_book(*shop.state.job);
  shop.state.polls.buses[0].minutes = {{580, 20, 0}, {590, 10, 7}};
  Alarm alarm;
  alarm.subject = "bus manifold";
  alarm.cause = Cause::polls_failing;
  alarm.state = AlarmState::unacknowledged;
  shop.state.alarms.open = {alarm};
  CHECK(shop.picture().at("alarms").at(0).at("why") ==
        "more than 1 % of its polls failed in ten minutes: 30 of 1200 failed, 7 were not sent");
}

TEST_CASE("a criterion of the plan is shown in the rig's units, with the bounds that it is to lie between") {
  Shop shop;
  const auto& stages = shop.state.job->plan.stages;
  const auto stage = std::find_if(stages.begin(), stages.end(), [](const Stage& each) { return each.name == "Raise"; });
  REQUIRE(stage != stages.end());
  shop.state.run.any = true;
  shop.state.run.stage = static_cast<std::uint16_t>(stage - stages.begin());
  shop.state.run.states[shop.state.run.stage] = StageState::running;
  renew_limits(shop.state);
  std::string facts;
  const json::object picture = shop.picture();
  for (const json::value& each : picture.at("stage").at("criteria").as_array())
    if (each.at("name").as_string().starts_with("rate movement HEAD")) facts = each.at("facts").as_string();
  INFO(facts);
  CHECK(facts.ends_with("; at least -0.20 mm/min; at most +0.20 mm/min"));
}
