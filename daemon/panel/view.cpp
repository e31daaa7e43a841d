#include "daemon/panel/view.hpp"

#include "config/time_text.hpp"
#include "daemon/core/alarm_acts.hpp"
#include "daemon/core/instruments.hpp"
#include "daemon/panel/shown_limits.hpp"
#include "daemon/panel/view_parts.hpp"
#include "daemon/panel/why.hpp"
#include "daemon/record/names.hpp"

namespace standfast {
namespace json = boost::json;

std::string signal_word(Level level) {
  switch (level) {
    case Level::none: return "WITHIN LIMITS";
    case Level::review: return "REVIEW";
    case Level::hold: return "HOLD";
    case Level::stop: return "STOP";
  }
  return "";
}

std::string reset_words(const State& state, const Alarm& alarm) {
  if (alarm.level < Level::hold && alarm.cause != Cause::lone_step) return "nobody: it ends by itself";
  const Requirement needed = needed_to_reset(state, alarm);
  std::string words{role_name(needed.least)};
  if (needed.two)
    words += " + " + std::string(needed.second_least ? role_name(*needed.second_least) : "second person");
  if (alarm.level == Level::hold && alarm.channel >= 0 && may_calm_again(state, static_cast<std::size_t>(alarm.channel)))
    words += "; technician once calm " + std::to_string(calm_for.ns / 1'000'000'000) + " s";
  return words;
}

json::object amount_view(const Drawing& drawing, const Amount& amount, Sign sign, int least_decimals) {
  return {{"text", drawing.shown.text(amount, sign, least_decimals)},
          {"si", amount.si},
          {"dimension", record::name_of(amount.dimension.base)},
          {"per", amount.dimension.per == Per::none ? "" : amount.dimension.per == Per::second ? "second" : "decade"}};
}

json::object reading_view(const Drawing& drawing, const Reading& reading, Sign sign, int least_decimals) {
  json::object view{{"text", drawing.shown.text(reading, sign, least_decimals)},
                    {"quality", record::name_of(reading.quality)},
                    {"cause", entry_of(reading.cause).code},
                    {"why", entry_of(reading.cause).text},
                    {"inferred", reading.inferred}};
  if (reading.newest > Instant{}) view["age_ms"] = drawing.age_ms(reading.oldest);
  if (reading.has_number()) {
    view["si"] = reading.value.si;
    view["dimension"] = record::name_of(reading.value.dimension.base);
    if (reading.uncertainty > 0) view["uncertainty_si"] = reading.uncertainty;
  }
  return view;
}

void add_last(const Drawing& drawing, const std::optional<Reading>& last, Sign sign, json::object& view) {
  if (!last || !last->has_number()) return;
  view["last"] = json::object{{"text", drawing.shown.text(last->value, sign)},
                              {"si", last->value.si},
                              {"age_ms", drawing.age_ms(last->oldest)}};
}

namespace {

Sign sign_of(const State& state, const Alarm& alarm) {
  const Limit* limit = state.job ? limit_named(state.job->plan, alarm.subject) : nullptr;
  return limit && goes_both_ways(limit->of) ? Sign::both : Sign::minus;
}

void add_amounts(const Drawing& drawing, const Alarm& alarm, json::object& view) {
  const Sign sign = sign_of(drawing.state, alarm);
  const int decimals = alarm.bound ? drawing.shown.decimals_of_bound(*alarm.bound) : 0;
  if (alarm.value) view["value"] = amount_view(drawing, *alarm.value, sign, decimals);
  if (alarm.bound) view["bound"] = amount_view(drawing, *alarm.bound, sign, decimals);
}

}  // namespace

json::object signal_view(const Drawing& drawing) {
  const State& state = drawing.state;
  json::object view{{"level", record::name_of(state.signal)}, {"word", signal_word(state.signal)}};
  const Alarm* alarm = leading(state.alarms);
  if (!alarm) return view;
  view["subject"] = alarm->subject;
  view["why"] = why_text(drawing, *alarm);
  view["cause"] = entry_of(alarm->cause).code;
  view["since"] = wall_time_text(alarm->raised_wall);
  view["for_ms"] = drawing.age_ms(alarm->raised_at);
  view["what_to_do"] = alarm->say;
  view["reset_by"] = reset_words(state, *alarm);
  view["alarm"] = alarm->number;
  add_amounts(drawing, *alarm, view);
  return view;
}

json::array alarms_view(const Drawing& drawing) {
  json::array list;
  for (const Alarm& alarm : drawing.state.alarms.open) {
    json::object view{{"number", alarm.number},
                      {"subject", alarm.subject},
                      {"level", record::name_of(alarm.level)},
                      {"state", record::name_of(alarm.state)},
                      {"cause", entry_of(alarm.cause).code},
                      {"why", why_text(drawing, alarm)},
                      {"first_out", alarm.first_out},
                      {"since", wall_time_text(alarm.raised_wall)},
                      {"for_ms", drawing.age_ms(alarm.raised_at)},
                      {"what_to_do", alarm.say},
                      {"reset_by", reset_words(drawing.state, alarm)}};
    add_amounts(drawing, alarm, view);
    list.push_back(std::move(view));
  }
  return list;
}

namespace {

json::object job_view(const Drawing& drawing) {
  const State& state = drawing.state;
  json::object view{{"folder", drawing.facts.job_folder},
                    {"in_force", static_cast<bool>(state.job)},
                    {"why_not", state.no_job},
                    {"rig_differs_on_disk", state.rig_differs},
                    {"plan_differs_on_disk", state.plan_differs}};
  if (!state.job) return view;
  view["rig"] = state.job->rig.title;
  view["plan"] = state.job->plan.title;
  view["plan_revision"] = state.job->plan.revision;
  view["engineer"] = state.job->plan.engineer;
  json::array reasons;
  for (const std::string& reason : state.job->plan.reset_reasons) reasons.emplace_back(reason);
  view["reset_reasons"] = std::move(reasons);
  view["rig_sha256"] = state.rig_sha256;
  view["plan_sha256"] = state.plan_sha256;
  view["simulated"] = state.job->rig.simulated;
  return view;
}

json::object record_view(const Drawing& drawing) {
  return {{"state", record::name_of(drawing.state.record)},
          {"last_seq", drawing.facts.last_seq},
          {"durable_seq", drawing.facts.durable_seq},
          {"head", drawing.facts.record_head},
          {"public_key", drawing.facts.record_key},
          {"unsigned", drawing.facts.record_unsigned},
          {"trouble", drawing.facts.record_trouble}};
}

}  // namespace

std::string picture_json(const State& state, const PictureFacts& facts, const LastNumbers& last) {
  const Drawing drawing{state, facts, Shown{state.job ? &state.job->rig : nullptr}, last, last.values_of(state)};
  json::array problems;
  for (const std::string& problem : facts.problems) problems.emplace_back(problem);
  const json::object picture{{"schema", "standfast-picture-1"},
                             {"time", wall_time_text(facts.wall)},
                             {"picture", state.picture},
                             {"software", state.software},
                             {"job", job_view(drawing)},
                             {"signal", signal_view(drawing)},
                             {"permit", permit_view(drawing)},
                             {"stage", stage_view(drawing)},
                             {"stages", stages_view(drawing)},
                             {"jacks", jacks_view(drawing)},
                             {"points", points_view(drawing)},
                             {"limits", limits_view(drawing)},
                             {"channels", channels_view(drawing)},
                             {"buses", buses_view(drawing)},
                             {"inputs", inputs_view(drawing)},
                             {"outputs", outputs_view(drawing)},
                             {"proofs", proofs_view(drawing)},
                             {"alarms", alarms_view(drawing)},
                             {"record", record_view(drawing)},
                             {"wires_missing", std::move(problems)}};
  return json::serialize(picture);
}

}  // namespace standfast
