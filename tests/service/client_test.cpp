#include <catch2/catch.hpp>

#include "tools/standfast/columns.hpp"
#include "tools/standfast/command.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/local_time.hpp"
#include "tools/standfast/screen.hpp"
#include "tools/standfast/seen.hpp"

using namespace standfast;
using namespace standfast::client;
namespace json = boost::json;

namespace {

json::object picture(const char* level, bool permit, const char* quality = "good", bool in_force = true) {
  return {{"time", "2027-03-01T14:32:55.000Z"},
          {"picture", 17},
          {"job", json::object{{"in_force", in_force},
                               {"why_not", "no plan has been adopted"},
                               {"rig", "Grain store, column C4"},
                               {"plan_revision", "B"},
                               {"engineer", "E. Quill"},
                               {"plan_sha256", "a3f10000"},
                               {"simulated", true}}},
          {"signal", json::object{{"level", level}, {"word", std::string(level) == "none" ? "WITHIN LIMITS" : "HOLD"}}},
          {"permit",
           json::object{
               {"given", permit}, {"kind", "raise"}, {"circuits", "A B"}, {"by", "S. Vane"}, {"ends_in_ms", 725000}}},
          {"buses", json::array{json::object{{"name", "manifold"}, {"answered", 597}, {"failed", 3}}}},
          {"channels", json::array{json::object{
                           {"name", "P1"},
                           {"reading", json::object{{"quality", quality}, {"cause", "stale"}, {"age_ms", 12000}}}}}}};
}

// A job with more of everything than fits.
json::object crowded() {
  json::object full = picture("hold", false, "bad");
  json::object& signal = full["signal"].as_object();
  signal["subject"] = "movement of the head of column C4 in the north bay";
  signal["why"] = "beyond its limit";
  signal["value"] = json::object{{"text", "1.92 mm"}};
  signal["bound"] = json::object{{"text", "1.80 mm"}};
  signal["since"] = "2027-03-01T14:32:07.000Z";
  signal["for_ms"] = 48000;
  signal["what_to_do"] = "Stop pumping. Keep pressure. Stand back.";
  signal["reset_by"] = "engineer + second person";
  json::object step{{"name", "75 %"},      {"number", 2},          {"of", 4},
                    {"percent", "75.0 %"}, {"observe_ms", 600000}, {"observed_ms", 134000}, {"reached", true},
                    {"in_band", false},    {"reading_sets", 3},    {"reading_sets_planned", 5}};
  full["stage"] = json::object{
      {"any", true},
      {"name", "Raise"},
      {"number", 4},
      {"of", 9},
      {"state", "observation"},
      {"step", step},
      {"criteria", json::array{json::object{{"name", "observation"}, {"met", false}, {"facts", "134 s of 600 s"}}}}};
  json::array jacks, limits;
  for (int i = 0; i < 17; ++i) {
    json::object jack{
        {"name", i == 16 ? std::string("total") : "J" + std::to_string(i)}, {"answering", 15}, {"parts", 16}};
    for (const char* key : {"load", "target", "to_go", "pressure", "target_pressure", "to_go_pressure", "share", "travel_left"})
      jack[key] = json::object{{"text", "1234567.8 kN"}, {"quality", "good"}};
    jacks.push_back(jack);
  }
  for (int i = 0; i < 200; ++i)
    limits.push_back(json::object{{"name", "limit " + std::to_string(i)},
                                  {"in_force", i % 10 != 0},
                                  {"used_pct", static_cast<double>(i)},
                                  {"value", json::object{{"text", "1.00 mm"}, {"si", 0.001}}},
                                  {"hold", json::object{{"above", json::object{{"text", "1.20 mm"}}},
                                                        {"below", json::object{{"text", "-0.30 mm"}}}}}});
  full["jacks"] = jacks;
  full["limits"] = limits;
  full["record"] = json::object{{"state", "healthy"}, {"last_seq", 130}, {"durable_seq", 100}, {"unsigned", "no key"}};
  full["outputs"] = json::object{{"silent", true}};
  return full;
}

std::string text(const std::vector<ScreenLine>& lines) { return screen_text(lines, false); }
bool has(const std::string& all, const std::string& part) { return all.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("status tells the shell what may be done") {
  CHECK(status_code(picture("none", true)) == 0);
  CHECK(status_code(picture("review", true)) == 0);
  CHECK(status_code(picture("none", false)) == 3);
  CHECK(status_code(picture("hold", false)) == 4);
  CHECK(status_code(picture("stop", false)) == 5);
  CHECK(status_code(picture("hold", true)) == 4);
  CHECK(status_code(picture("stop", true, "bad")) == 6);
  CHECK(status_code(picture("stop", false, "good", false)) == 6);
}

TEST_CASE("the screen is never wider than 80 nor higher than 24, however much there is to show") {
  for (const json::object& each : {picture("none", true), picture("hold", false, "bad", false), crowded()}) {
    const auto lines = screen_of(each, LocalTime{true});
    CHECK(lines.size() <= screen_height);
    for (const ScreenLine& line : lines) {
      CAPTURE(line.text);
      CHECK(width_of(line.text) <= screen_width);
    }
  }
}

TEST_CASE("a record that nobody signs is said to be so") {
  CHECK(has(text(screen_of(crowded(), LocalTime{true})), "100 rows on disk, 30 waiting, NOT SIGNED"));
  CHECK_FALSE(has(text(screen_of(picture("none", true), LocalTime{true})), "NOT SIGNED"));
}

TEST_CASE("the band says what, since when, what to do and who may reset") {
  const std::string screen = text(screen_of(crowded(), LocalTime{true}));
  for (const char* part : {"HOLD  movement of the head", "since 14:32:07  0:48", "Stop pumping. Keep pressure. Stand back.",
                           "reset: engineer + second person"})
    CHECK(has(screen, part));
}

namespace {

json::object good(const char* words, double si = 0) { return {{"text", words}, {"quality", "good"}, {"si", si}}; }
json::object silent(const char* last) {
  return {{"text", "no data"}, {"quality", "bad"}, {"cause", "no-answer"},
          {"last", json::object{{"text", last}, {"si", last[0] == '-' ? -1 : 1}, {"age_ms", 12000}}}};
}

// Four jacks on their way to a step, three points, one of everything silent.
json::object at_work() {
  json::object work = picture("none", true);
  json::array jacks, limits, points;
  for (const char* name : {"J1", "J2", "J3", "J4"})
    jacks.push_back(json::object{{"name", name}, {"load", good("96.2 kN")}, {"pressure", good("101.2 bar")}, {"share", good("27.5 %")},
                                 {"target", good("101.8 kN")}, {"to_go", good("5.6 kN")}, {"target_pressure", good("107.1 bar")},
                                 {"to_go_pressure", good("5.9 bar")}, {"travel_left", good("133.81 mm")}});
  jacks[3].as_object()["load"] = silent("96.1 kN");
  jacks[3].as_object()["pressure"] = silent("101.1 bar");
  jacks.push_back(json::object{{"name", "total"}, {"load", good("no data")}, {"answering", 3}, {"parts", 4}});
  const auto limit = [](const char* name, const char* point, json::object value, double used) {
    return json::object{{"name", name}, {"point", point}, {"in_force", true}, {"value", std::move(value)}, {"used_pct", used},
                        {"hold", json::object{{"above", good("+1.20 mm")}, {"below", good("-3.00 mm")}}}};
  };
  limits.push_back(limit("load J1", "", good("96.2 kN", 96200), 90));
  limits.push_back(limit("movement HEAD since baseline", "HEAD", good("+0.12 mm", 0.00012), 10));
  limits.push_back(limit("movement HEAD since lock-off", "HEAD", good("+0.90 mm", 0.0009), 75));
  limits.push_back(limit("movement BASE_A since baseline", "BASE_A", silent("-0.40 mm"), 0));
  for (const char* name : {"HEAD", "BASE_A", "BASE_B"})
    points.push_back(json::object{{"name", name}, {"highest", good("+0.12 mm", 0.00012)}});
  work["jacks"] = jacks;
  work["limits"] = limits;
  work["points"] = points;
  return work;
}

}  // namespace

TEST_CASE("each jack shows pressure and load, what it shall be, and what is to go, with the gauge's own unit first") {
  const std::string screen = text(screen_of(at_work(), LocalTime{true}));
  CHECK(has(screen, "jack   gauge bar   target   to go   load kN   target   to go   share travel left\n"));
  CHECK(has(screen, "J1         101.2    107.1     5.9      96.2    101.8     5.6"));
  CHECK(has(screen, "133.81 mm"));
}

TEST_CASE("every point stands on the screen with the limit on its movement that is used most, whatever else is nearer to its own") {
  const std::string screen = text(screen_of(at_work(), LocalTime{true}));
  CHECK(has(screen, "movement HEAD since lock-off           +0.90 mm     +1.20 mm"));
  CHECK(has(screen, "BASE_B since baseline                  +0.12 mm   no limit in force"));
  CHECK(screen.find("movement HEAD since lock-off") < screen.find("load J1    "));
  json::object many = at_work();
  json::array points;
  for (int i = 0; i < 8; ++i) points.push_back(json::object{{"name", "P" + std::to_string(i)}, {"highest", good("+0.12 mm", 0.00012)}});
  many["points"] = points;
  const std::string crowd = text(screen_of(many, LocalTime{true}));
  for (int i = 0; i < 8; ++i) CHECK(has(crowd, "P" + std::to_string(i) + " "));
}

TEST_CASE("where data is lost the last number stands beside it, marked with its age, and no cell runs into the next") {
  const std::string screen = text(screen_of(at_work(), LocalTime{true}));
  CHECK(has(screen, "J4      NO DATA for 0:12, last 101.1 bar, 96.1 kN; target 107.1 bar"));
  CHECK(has(screen, "BASE_A, last -0.40 mm, 0:12 ago         NO DATA     -3.00 mm"));
  CHECK(has(screen, " 3 of 4 jacks"));
}

TEST_CASE("what the uncertainty of a value does not exclude is said beside it, whole") {
  json::object work = at_work();
  const auto doubts = [&](std::size_t place, const char* level) {
    work["limits"].as_array()[place].as_object()[level].emplace_object() = {{"above", good("+1.20 mm")}, {"cannot_exclude", true}};
  };
  doubts(0, "hold");
  doubts(2, "stop");
  const std::string screen = text(screen_of(work, LocalTime{true}));
  CHECK(has(screen, "load J1, cannot exclude HOLD            96.2 kN"));
  CHECK(has(screen, "HEAD, cannot exclude STOP              +0.90 mm"));
  CHECK(cannot_exclude_words(work["limits"].as_array()[1].as_object()).empty());
  work["limits"].as_array()[0].as_object()["name"] = "share J1 against what was planned";
  CHECK(has(text(screen_of(work, LocalTime{true})), "share J1 .., cannot exclude HOLD "));
}

TEST_CASE("a number that does not fit is not shown in part") {
  const std::string screen = text(screen_of(crowded(), LocalTime{true}));
  CHECK_FALSE(has(screen, "1234567.8 k "));
  CHECK_FALSE(has(screen, "123456.."));
}

TEST_CASE("many jacks stand two in a line, and those that find no room are counted") {
  const std::string screen = text(screen_of(crowded(), LocalTime{true}));
  for (const char* name : {"J0 ", "J1 ", "J15"}) CHECK(has(screen, name));
}

TEST_CASE("a share of next to nothing is not shown") {
  json::object idle = at_work();
  json::object load = good("0.1 kN", 100);
  load["uncertainty_si"] = 400;
  idle["jacks"].as_array().back().as_object()["load"] = load;
  CHECK_FALSE(has(text(screen_of(idle, LocalTime{true})), "27.5 %"));
}

TEST_CASE("a total with a part missing is no number") {
  CHECK(has(text(screen_of(crowded(), LocalTime{true})), "15 of 16 jacks"));
}

TEST_CASE("the limit that is used most stands first, and what is left out is counted") {
  const std::string screen = text(screen_of(crowded(), LocalTime{true}));
  CHECK(has(screen, "limit 199"));
  CHECK(has(screen, " shown of 180 in force, 20 not)"));
}

TEST_CASE("with several instruments lost the headline says how many of how many") {
  json::object dark = crowded();
  json::array channels;
  for (const char* name : {"P1", "P2", "G1"})
    channels.push_back(json::object{{"name", name}, {"reading", json::object{{"quality", name[0] == 'P' ? "bad" : "good"}}}});
  dark["channels"] = channels;
  dark["signal"].as_object()["subject"] = "instrument P1";
  CHECK(has(text(screen_of(dark, LocalTime{true})), "HOLD  2 of 3 instruments lost, instrument P1: "));
  dark["signal"].as_object()["subject"] = "movement of the head";
  CHECK_FALSE(has(text(screen_of(dark, LocalTime{true})), "instruments lost"));
}

TEST_CASE("how much longer the sounder is silenced stands on the screen, with a permit and without") {
  for (const bool permit : {true, false}) {
    json::object silenced = picture("hold", permit);
    CHECK_FALSE(has(text(screen_of(silenced, LocalTime{true})), "silenced"));
    silenced["outputs"] = json::object{{"sounder_silenced_ms", 45000}};
    CHECK(has(text(screen_of(silenced, LocalTime{true})), "sounder silenced for 0:45 more"));
  }
}

TEST_CASE("alarms stand with STOP first, then HOLD, then REVIEW, the newest of a level first, the first-out marked") {
  json::array list;
  int number = 0;
  for (const char* level : {"review", "hold", "stop", "hold"}) {
    const std::string since = "2027-03-01T14:32:0" + std::to_string(++number) + ".000Z";
    list.push_back(json::object{{"number", number}, {"level", level}, {"subject", "no" + std::to_string(number)}, {"since", since},
                                {"first_out", number == 2}});
  }
  const std::string all = alarms_text(list, LocalTime{true});
  std::size_t before = 0;
  for (const char* subject : {"no3", "no4", "no2  (the first)", "no1"}) {
    CHECK(all.find(subject) >= before);
    REQUIRE(has(all, subject));
    before = all.find(subject);
  }
}

TEST_CASE("the screen carries the caution, the mark of a simulated rig, and never a word it must not show") {
  for (const json::object& each : {picture("none", true), picture("hold", false, "bad", false), crowded()}) {
    const std::string screen = text(screen_of(each, LocalTime{true}));
    CHECK(has(screen, "Nobody under a load held by hydraulics alone."));
    CHECK(has(screen, "SIMULATED"));
    for (const char* word : {" safe ", " OK", "release", "emergency", " auto", "live load", "normal"})
      CHECK_FALSE(has(screen, word));
  }
}

TEST_CASE("within limits stands with its time and its revision") {
  const std::string screen = text(screen_of(picture("none", true), LocalTime{true}));
  CHECK(has(screen, "WITHIN LIMITS"));
  CHECK(has(screen, "at 14:32:55"));
  CHECK(has(screen, "plan revision B of E. Quill"));
  CHECK(has(screen, "PERMIT: RAISE circuits A B by S. Vane"));
}

TEST_CASE("HOLD is yellow, STOP is red, and without colour the words say the same") {
  CHECK(inked("x", Ink::hold, true).find("43m") != std::string::npos);
  CHECK(inked("x", Ink::stop, true).find("41m") != std::string::npos);
  CHECK(inked("x", Ink::stop, false) == "x");
}

TEST_CASE("text is counted in characters, and what is cut is marked") {
  CHECK(width_of("20 \u00b0C") == 5);
  CHECK(left("abcdef", 4) == "ab..");
  CHECK(right("ab", 4) == "  ab");
  CHECK(left("\u00b0\u00b0\u00b0\u00b0", 3) == "\u00b0..");
}

TEST_CASE("times are read as people type them") {
  const LocalTime utc{true};
  const WallTime noon{1'803'988'800'000'000'000};  // 2027-03-02T12:00:00Z.
  CHECK(utc.full(noon) == "2027-03-02T12:00:00.000Z");
  CHECK(utc.typed("2027-03-02T12:00:00Z", WallTime{}) == noon);
  CHECK(utc.typed("10:30", noon)->ns == noon.ns - 5400 * 1'000'000'000LL);
  CHECK(utc.typed("10:30:01", noon)->ns == noon.ns - 5399 * 1'000'000'000LL);
  CHECK(utc.typed("-10min", noon)->ns == noon.ns - 600 * 1'000'000'000LL);
  CHECK(utc.typed("-2h", noon)->ns == noon.ns - 7200 * 1'000'000'000LL);
  for (const char* text : {"", "10", "25:00", "10:60", "10:30:01:2", "-", "-10", "-10parsec", "yesterday"})
    CHECK_FALSE(utc.typed(text, noon));
}

TEST_CASE("what was done is told in words, and what was asked for beyond what is allowed is said") {
  const json::object nothing{{"alarms", json::array{}}};
  const json::object held{{"alarms", json::array{json::object{{"level", "hold"}}}}};
  const json::object reviewed{{"alarms", json::array{json::object{{"level", "review"}}}}};
  CHECK(done_words({"reset", "all", {}}, held) == "every open alarm reset");
  CHECK(done_words({"reset", "all", {}}, nothing) == "no alarm was open: nothing was reset");
  CHECK(done_words({"reset", "all", {}}, reviewed) == "no alarm was open: nothing was reset");
  CHECK(done_words({"acknowledge", "all", {}}, reviewed) == "every open alarm acknowledged");
  CHECK(has(done_words({"silence", {}, "60 s"}, held), "silent for 60 s"));
  CHECK_FALSE(has(done_words({"silence", {}, "60 s"}, held), "not 60 s"));
  CHECK(has(done_words({"silence", {}, "500 s"}, held), "silent for 120 s, not 500 s"));
  Arguments nobody, one;
  one.options["as"] = "S. Vane";
  CHECK(who_is_missing(nobody, "needs a supervisor") == "; say who acts: --as NAME");
  CHECK(who_is_missing(one, "needs a supervisor and a second person (technician)") == "; say who acts: --second NAME");
  CHECK(who_is_missing(one, "needs a supervisor").empty());
}

TEST_CASE("every command has a summary, an example that begins with it, and a name of its own") {
  std::vector<std::string> names;
  for (const Command& command : commands()) {
    CAPTURE(command.name);
    CHECK(std::string(command.summary).size() > 10);
    CHECK(std::string(command.examples).starts_with("standfast " + std::string(command.name)));
    CHECK(std::find(names.begin(), names.end(), command.name) == names.end());
    names.emplace_back(command.name);
    for (const Option& option : command.options) {
      CHECK(std::string(option.name) != "force");
      CHECK(std::string(option.name) != "yes");
    }
  }
}

TEST_CASE("who decides on the newest picture is shown what stands in it") {
  json::object shown = picture("hold", false);
  shown["signal"].as_object()["subject"] = "differential A-B";
  shown["stage"] = json::object{{"any", true}, {"name", "Raise"}, {"state", "observation"}, {"step", json::object{{"name", "75 %"}}}};
  shown["alarms"] = json::array{json::object{
      {"number", 12}, {"level", "hold"}, {"subject", "differential A-B"}, {"state", "latched_unacknowledged"}}};
  const std::string words = picture_words(shown);
  for (const char* part : {"picture 17", "HOLD: differential A-B", "permit  none", "Raise, 75 %, observation",
                           "12  hold  differential A-B, latched unacknowledged"})
    CHECK(has(words, part));
}

TEST_CASE("what two persons enter on what they saw can be entered so") {
  for (const Command& command : commands()) {
    if (std::string(command.name) != "enter") continue;
    for (const char* wanted : {"as", "second", "seen"})
      CHECK(std::any_of(command.options.begin(), command.options.end(), [&](const Option& o) { return o.name == std::string(wanted); }));
  }
}

TEST_CASE("a bound of a few micrometres a minute stands whole beside its value") {
  json::object work = at_work();
  json::object& limit = work["limits"].as_array()[0].as_object();
  limit["name"] = "rate travel J1";
  limit["value"] = good("-0.004 mm/min");
  limit["hold"] = json::object{{"above", good("+0.005 mm/min")}};
  limit["stop"] = json::object{{"above", good("+3.000 mm/min")}};
  CHECK(has(text(screen_of(work, LocalTime{true})), " -0.004 mm/min 0.005 mm/min 3.000 mm/min "));
}
