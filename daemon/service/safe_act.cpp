#include "daemon/service/safe_act.hpp"

#include <algorithm>
#include <boost/json.hpp>

#include "config/source_text.hpp"
#include "daemon/record/names.hpp"
#include "daemon/service/act_request.hpp"

namespace standfast {
namespace {

namespace json = boost::json;

constexpr std::string_view stop_path = "/v1/stop", act_path = "/v1/act", cut_mark = "...";

std::string_view path_of(std::string_view target) { return target.substr(0, target.find('?')); }

std::optional<json::object> object_in(const std::string& body) {
  json::error_code error;
  json::parse_options options;
  options.max_depth = 4;
  const json::value parsed = json::parse(body, error, {}, options);
  if (error || !parsed.is_object()) return std::nullopt;
  return parsed.get_object();
}

// The word behind the first `act` of a body that is no JSON: `{"act":"stop","reason":"cra`, `act=stop`.
std::string_view word_behind_act(std::string_view body) {
  const std::size_t act = body.find("act");
  if (act == std::string_view::npos) return {};
  const std::size_t begin = body.find_first_not_of("\"': \t\r\n=", act + 3);
  if (begin == std::string_view::npos) return {};
  const std::string_view rest = body.substr(begin);
  return rest.substr(0, rest.find_first_not_of("abcdefghijklmnopqrstuvwxyz_"));
}

std::string member(const std::optional<json::object>& body, std::string_view key, std::size_t most) {
  const json::value* found = body ? body->if_contains(key) : nullptr;
  if (!found || found->is_null()) return {};
  if (found->is_string()) return plain_words(std::string_view{found->as_string()}, most);
  return plain_words(json::serialize(*found), most);
}

std::string reason_in(const Request& request, const std::optional<json::object>& body) {
  if (body) return member(body, "reason", reason_most);
  if (!request.body.empty()) return plain_words(request.body, reason_most);
  return request.objection == Objection::not_whole ? "(the words did not arrive)" : "";
}

PersonClaim claim_in(const People& people, const std::string& name) {
  if (name.empty()) return {};
  const auto known = claim(people, name);
  return known ? *known : PersonClaim{name, Role::auditor};
}

}  // namespace

std::string plain_words(std::string_view text, std::size_t most) {
  constexpr char digits[] = "0123456789abcdef";
  std::string out;
  std::size_t with_mark = 0;  // The end of the last character behind which the mark still has room.
  for (std::size_t at = 0; at < text.size();) {
    const int bytes = utf8_at(text, at).bytes;
    const auto first = static_cast<unsigned char>(text[at]);
    std::string next;
    if (bytes == 0 || (bytes == 1 && (first < 0x20 || first == 0x7f)))
      next = std::string("\\x") + digits[first >> 4] + digits[first & 15];
    else
      next = text.substr(at, static_cast<std::size_t>(bytes));
    if (out.size() + next.size() > most) return out.substr(0, with_mark) + std::string(cut_mark);
    out += next;
    if (out.size() + cut_mark.size() <= most) with_mark = out.size();
    at += static_cast<std::size_t>(std::max(bytes, 1));
  }
  return out;
}

bool never_refused(std::string_view method, std::string_view target) {
  return method == "POST" && (path_of(target) == stop_path || path_of(target) == act_path);
}

std::optional<Action> safe_act(const Request& request, const People& people) {
  if (request.method != "POST") return std::nullopt;
  const bool stop = path_of(request.target) == stop_path;
  if (!stop && path_of(request.target) != act_path) return std::nullopt;
  const auto body = object_in(request.body);
  const std::string word = body ? member(body, "act", 40) : std::string(word_behind_act(request.body));
  const auto named = stop ? Act::stop : record::named<Act>(word);
  if (!named || !makes_safe(*named)) return std::nullopt;
  // What a broken body does not say any more would be read as "all" and as the longest time.
  if (!body && !withdraws(*named)) return std::nullopt;
  Action action;
  action.what = *named;
  action.object = member(body, "object", object_most);
  action.value = member(body, "value", value_most);
  action.reason = reason_in(request, body);
  action.person = claim_in(people, member(body, "as", person_name_most));
  action.second = claim_in(people, member(body, "second", person_name_most));
  action.way = Way::command_line;
  action.peer_uid = request.peer_uid;
  return action;
}

}  // namespace standfast
