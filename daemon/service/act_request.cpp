#include "daemon/service/act_request.hpp"

#include <algorithm>
#include <boost/json.hpp>

#include "config/time_text.hpp"
#include "daemon/record/names.hpp"
#include "daemon/service/giving.hpp"
#include "drivers/boot_clock.hpp"

namespace standfast {
namespace {

namespace json = boost::json;

constexpr std::string_view known_keys[] = {"act", "object", "value", "reason", "as", "second", "seen"};

bool is_control(char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }

// Text of a person, from the wire: bounded, on one line. Empty where the key is missing.
Result<std::string, std::string> text_at(const json::object& body, std::string_view key, std::size_t most) {
  const json::value* found = body.if_contains(key);
  if (!found) return std::string{};
  const std::string name{key};
  if (!found->is_string()) return Failure{"'" + name + "' is not text"};
  std::string text{found->as_string()};
  if (text.size() > most) return Failure{"'" + name + "' is longer than " + std::to_string(most) + " bytes"};
  if (std::any_of(text.begin(), text.end(), is_control)) return Failure{"'" + name + "' has control characters"};
  return text;
}

Result<json::object, std::string> body_of(const Request& request) {
  json::error_code error;
  json::parse_options options;
  options.max_depth = 4;
  const json::value parsed = json::parse(request.body, error, {}, options);
  if (error || !parsed.is_object()) return Failure{std::string("the body is not a JSON object")};
  for (const auto& member : parsed.get_object())
    if (std::find(std::begin(known_keys), std::end(known_keys), member.key()) == std::end(known_keys))
      return Failure{"unknown key '" + std::string(member.key()) + "'"};
  return parsed.get_object();
}

// Without authority until found on the list.
PersonClaim claim_of(const std::string& name) { return {name, name.empty() ? Role::technician : Role::auditor}; }

void look_up(ActRequest& request, const Result<People, std::string>& people) {
  for (PersonClaim* person : {&request.action.person, &request.action.second}) {
    if (person->name.empty()) continue;
    const auto known = people ? claim(*people, person->name) : Result<PersonClaim, std::string>{Failure{people.error()}};
    if (known) {
      *person = *known;
      continue;
    }
    request.hint = known.error();
    if (person == &request.action.second) *person = {};  // A name that is not on the list makes no second person.
  }
}

}  // namespace

Result<ActRequest, std::string> act_request(const Request& request, const PeopleSource& people,
                                            std::optional<Act> fixed) {
  const auto body = body_of(request);
  if (!body) return Failure{body.error()};
  ActRequest result;
  Action& action = result.action;
  std::string act, one, other;
  struct Member { std::string_view key; std::size_t most; std::string& into; };
  for (const Member& member : {Member{"act", 40, act}, Member{"object", object_most, action.object},
                               Member{"value", value_most, action.value}, Member{"reason", reason_most, action.reason},
                               Member{"as", person_name_most, one}, Member{"second", person_name_most, other}}) {
    auto text = text_at(*body, member.key, member.most);
    if (!text) return Failure{text.error()};
    member.into = std::move(*text);
  }
  const auto named = fixed ? fixed : record::named<Act>(act);
  if (!named) return Failure{"unknown act '" + act + "'"};
  action.what = *named;
  action.person = claim_of(one);
  action.second = claim_of(other);
  if (!(one.empty() && other.empty())) look_up(result, people());
  action.way = Way::command_line;
  action.peer_uid = request.peer_uid;
  if (const json::value* seen = body->if_contains("seen")) {
    if (!seen->is_int64()) return Failure{std::string("'seen' is not a whole number")};
    action.seen = seen->get_int64();
  }
  return result;
}

Reply reply_of(const Answered& answered, const std::string& hint) {
  std::string text = answered.answer.text;
  if (!answered.answer.accepted && !hint.empty()) text += " (" + hint + ")";
  const json::object body{{"schema", "standfast-answer-1"},
                          {"time", wall_time_text(wall_time_now())},
                          {"act", record::name_of(answered.answer.what)},
                          {"accepted", answered.answer.accepted},
                          {"code", answered.answer.code},
                          {"text", text},
                          {"seq", answered.seq == lost_row ? 0 : answered.seq},
                          {"recorded", answered.recorded}};
  return {answered.answer.accepted ? 200 : 409, json::serialize(body)};
}

Reply reply_of(const Findings& findings) {
  json::array list;
  for (const Finding& finding : findings)
    list.push_back(json::object{{"file", finding.file},
                                {"line", finding.line},
                                {"column", finding.column},
                                {"length", finding.length},
                                {"severity", finding.severity == Severity::error ? "error" : "warning"},
                                {"code", finding.code},
                                {"message", finding.message},
                                {"found", finding.found},
                                {"expected", finding.expected},
                                {"nearest", finding.nearest}});
  const json::object body{{"schema", "standfast-findings-1"}, {"time", wall_time_text(wall_time_now())}, {"findings", list}};
  return {422, json::serialize(body)};
}

Reply problem(int status, const std::string& code, const std::string& text) {
  const json::object body{{"schema", "standfast-problem-1"}, {"code", code}, {"text", text}};
  return {status, json::serialize(body)};
}

}  // namespace standfast
