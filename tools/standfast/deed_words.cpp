#include "tools/standfast/deed_words.hpp"

#include <algorithm>

#include "config/unit_text.hpp"
#include "daemon/core/by_hand.hpp"
#include "daemon/core/proof.hpp"
#include "daemon/core/sounding.hpp"
#include "tools/standfast/json_text.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

std::string seconds_words(Duration time) { return std::to_string(time.ns / 1'000'000'000) + " s"; }

std::string silence_words(const Deed& deed, const json::object& before) {
  const auto wanted = deed.value.empty() ? Result<Duration, TextError>{silence_at_most} : parse_duration(deed.value);
  std::string words = "the sounder is silent for " + seconds_words(wanted ? std::min(*wanted, silence_at_most) : silence_at_most);
  if (wanted && *wanted > silence_at_most) words += ", not " + deed.value + ": longer than that nobody may silence it";
  if (text_at(object_at(before, "signal"), "level") == "stop")
    words += "; a STOP sounds for its first " + seconds_words(stop_sounds_at_least) + " all the same";
  return words;
}

bool anything_open(const json::object& before, bool latching_only) {
  const json::array& alarms = array_at(before, "alarms");
  return std::any_of(alarms.begin(), alarms.end(), [&](const json::value& alarm) {
    return !latching_only || text_at(alarm.as_object(), "level") != "review";
  });
}

std::string alarms_words(const Deed& deed, const json::object& before, const std::string& what, bool latching_only) {
  if (deed.object != "all" && !deed.object.empty()) return "alarm " + deed.object + " " + what;
  return before.empty() || anything_open(before, latching_only) ? "every open alarm " + what : "no alarm was open: nothing was " + what;
}

std::string permit_words(const Deed& deed) {
  std::string words = deed.object + " permit given";
  if (!deed.value.empty()) words += ": " + deed.value;
  return words + "; `standfast status` shows it and when it ends";
}

}  // namespace

std::string done_words(const Deed& deed, const json::object& before) {
  if (deed.act == "acknowledge") return alarms_words(deed, before, "acknowledged", false);
  if (deed.act == "silence") return silence_words(deed, before);
  if (deed.act == "reset") return alarms_words(deed, before, "reset", true);
  if (deed.act == "permit_give") return permit_words(deed);
  if (deed.act == "permit_end" && before.empty()) return "whatever permit was given has ended";
  if (deed.act == "permit_end")
    return truth_at(object_at(before, "permit"), "given") ? "the permit has ended" : "no permit was given: nothing has ended";
  if (deed.act == "stage_enter") return "stage " + deed.object + " entered";
  if (deed.act == "stage_propose") return "proposed for approval";
  if (deed.act == "stage_approve") return "approved";
  if (deed.act == "stage_abandon") return "the stage is abandoned";
  if (deed.act == "stage_skip") return "stage " + deed.object + " skipped";
  if (deed.act == "accept_uncertain") return "instrument " + deed.object + " may serve a permit in this stage, doubt and all";
  if (deed.act == "prove_start" && deed.object == "sounder")
    return "the sounder sounds, HOLD and then STOP; say `standfast prove sounder heard` or `... not heard`";
  if (deed.act == "prove_end") return "proof " + deed.object + ": " + deed.value;
  if (deed.act == "prove_start" && deed.object == proof_name(Proof::drop_by_cable))
    return "proof " + deed.object + " has begun: now pull the module's cable, and put it back; `standfast prove` shows how it went";
  if (deed.act == "prove_start") return "proof " + deed.object + " has begun; `standfast prove` shows how it went";
  if (deed.act == "zero_propose") return "nought of " + deed.object + " proposed; an engineer approves it";
  if (deed.act == "zero_approve") return "nought of " + deed.object + " approved";
  if (deed.act == "enter_note") return "entered: " + deed.object;
  if (deed.act == "enter_reading") return "entered: " + deed.object + " " + deed.value.substr(0, deed.value.find(entered_again));
  if (deed.act == "offer") return "the files are offered; `standfast check` names their revision, `standfast adopt` puts it in force";
  if (deed.act == "adopt") return "revision " + deed.value + " is in force";
  if (deed.act == "shift_end") return "the shift has ended, and with it a permit that was given in it";
  return deed.act + ": done";
}

std::string who_is_missing(const Arguments& arguments, const std::string& refusal) {
  std::string options;
  if (!arguments.has("as")) options = "--as NAME";
  if (!arguments.has("second") && refusal.find("second person") != std::string::npos)
    options += options.empty() ? "--second NAME" : " --second NAME";
  return options.empty() ? options : "; say who acts: " + options;
}

std::string reset_reasons_words(const json::object& picture) {
  const json::array& reasons = array_at(object_at(picture, "job"), "reset_reasons");
  std::string words = reasons.empty() ? "" : "\nreasons that the plan names, for --reason (others in words of one's own):";
  for (const json::value& reason : reasons) words += "\n  " + std::string(reason.as_string());
  return words;
}

std::string simulated_heading(bool simulated) {
  return simulated ? "SIMULATED: these instruments stand on no building\n" : "";
}

std::string simulated_heading(const json::object& picture) {
  return simulated_heading(truth_at(object_at(picture, "job"), "simulated"));
}

}  // namespace standfast::client
