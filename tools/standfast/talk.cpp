#include "tools/standfast/talk.hpp"

#include <chrono>
#include <iostream>
#include <thread>

#include "daemon/core/act_kinds.hpp"
#include "daemon/record/names.hpp"
#include "daemon/service/places.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/exact_json.hpp"
#include "tools/standfast/findings.hpp"
#include "tools/standfast/http.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/seen.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

constexpr const char* stop_path = "/v1/stop";

json::object parsed(const HttpAnswer& answer) {
  json::error_code error;
  const json::value value = exact_json(answer.body, error);
  if (error || !value.is_object()) throw Trouble{internal, "the daemon's answer cannot be read; versions may differ"};
  return value.get_object();
}

HttpAnswer answer_or_trouble(Result<HttpAnswer, std::string> answer) {
  if (!answer) throw Trouble{not_reachable, answer.error()};
  return std::move(*answer);
}

// What a refusal means to a script.
ExitCode refusal_code(const std::string& code) {
  if (code == "not-permitted") return not_permitted;
  if (code == "picture-changed") return try_again;
  return findings;
}

// A stop is confirmed at once; whether it is on the disk is asked for behind it, for a moment.
bool recorded_soon(const Arguments& arguments, std::int64_t seq) {
  for (int i = 0; i < 20; ++i) {
    const auto answer = get(socket_of(arguments), "/v1/recorded/" + std::to_string(seq));
    if (answer && text_at(parsed(*answer), "recorded") == "true") return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
  }
  return false;
}

// What is known of an act beside its answer.
struct Asked {
  Deed deed;
  json::object before;  // The picture it was decided on; empty for a stop, which asks for nothing first.
};

// What to print: the daemon's words, or that it is done and where that is written.
std::string answer_text(const Arguments& arguments, const Asked& asked, const json::object& body) {
  const std::string text = text_at(body, "text");
  const std::string mark = truth_at(object_at(asked.before, "job"), "simulated") ? "SIMULATED  " : "";
  if (!truth_at(body, "accepted")) {
    const std::string code = text_at(body, "code"), words = mark + "refused: " + text;
    if (code == "not-permitted") return words + who_is_missing(arguments, text);
    if (code == "no-reason" && asked.deed.act == "reset") return words + reset_reasons_words(asked.before);
    return words;
  }
  const std::string row = " (row " + text_at(body, "seq") + ")";
  if (text_at(body, "act") == "stop") return "STOP called, the permit is withdrawn; no pressure is let out" + row;
  return mark + (text.empty() ? done_words(asked.deed, asked.before) : text) + row;
}

// Behind a stop, when it has long been called: are these instruments a building's?
void tell_simulated(const Arguments& arguments) {
  const auto answer = get(socket_of(arguments), "/v1/picture");
  if (answer && answer->status == 200) std::cout << simulated_heading(parsed(*answer)) << std::flush;
}

int tell_answer(const Arguments& arguments, const Asked& asked, const HttpAnswer& answer) {
  json::object body = parsed(answer);
  if (body.contains("findings")) return tell_findings(arguments, body);
  if (answer.status == 503) throw Trouble{try_again, text_at(body, "text")};
  if (!body.contains("accepted")) throw Trouble{answer.status < 500 ? usage : internal, text_at(body, "text")};
  const bool accepted = truth_at(body, "accepted"), stop = text_at(body, "act") == "stop", json_wanted = arguments.has("json");
  if (stop && !json_wanted) std::cout << answer_text(arguments, asked, body) << '\n' << std::flush;  // Before the disk is asked for.
  if (stop && !json_wanted) tell_simulated(arguments);
  const bool on_disk = truth_at(body, "recorded") || (stop && recorded_soon(arguments, number_at(body, "seq")));
  body["recorded"] = on_disk;
  if (json_wanted) std::cout << json::serialize(body) << '\n';
  else if (!stop) (accepted ? std::cout : std::cerr) << answer_text(arguments, asked, body) << '\n';
  if (!on_disk) std::cerr << "NOT RECORDED YET: the record lags or fails; see `standfast status`\n";
  if (!accepted) return refusal_code(text_at(body, "code"));
  return on_disk || stop ? done : io;
}

// What makes safe does not depend on it.
json::object picture_for_words(const Arguments& arguments) {
  const auto answer = get(socket_of(arguments), "/v1/picture");
  return answer && answer->status == 200 ? parsed(*answer) : json::object{};
}

// A stop that nobody heard: what is to be done instead stands first.
[[noreturn]] void stop_unheard(const Result<HttpAnswer, std::string>& answer) {
  const bool nobody = !answer && answer.error().starts_with("no daemon");
  const std::string first = nobody ? "STOP WAS NOT CALLED: no daemon answers." : "STOP IS NOT CONFIRMED: the daemon gave no answer to it.";
  throw Trouble{not_reachable, first + " Press the stop on site, shut off the pump.\n" +
                                   (answer ? text_at(parsed(*answer), "text") : answer.error())};
}

// What makes safe is asked for again where the daemon was too busy to hear: twice asked is no harm.
HttpAnswer posted(const Arguments& arguments, const std::string& path, const std::string& body, int tries) {
  while (true) {
    auto answer = post(socket_of(arguments), path, body);
    const bool heard = answer && answer->status != 503;
    if (!heard && --tries <= 0 && path == stop_path) stop_unheard(answer);
    if (heard || tries <= 0) return answer_or_trouble(std::move(answer));
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
  }
}

int send(const Arguments& arguments, const std::string& path, const Asked& asked, json::object body, int tries = 1) {
  for (const char* option : {"as", "second", "reason"})
    if (arguments.has(option)) body[option] = arguments.get(option);
  return tell_answer(arguments, asked, posted(arguments, path, json::serialize(body), tries));
}

}  // namespace

std::string station_of(const Arguments& arguments) { return arguments.get("station", default_station); }

std::string socket_of(const Arguments& arguments) {
  return socket_path(arguments.has("station") ? arguments.get("station") : default_run_folder);
}

std::string job_folder_of(const Arguments& arguments) {
  if (arguments.has("job")) return arguments.get("job");
  return text_at(picture_of(arguments).at("job").as_object(), "folder");
}

json::object picture_of(const Arguments& arguments) {
  const HttpAnswer answer = answer_or_trouble(get(socket_of(arguments), "/v1/picture"));
  if (answer.status != 200) throw Trouble{not_reachable, text_at(parsed(answer), "text")};
  return parsed(answer);
}

int act(const Arguments& arguments, const Deed& deed) {
  constexpr int tries_of_safe = 10;
  json::object body{{"act", deed.act}};
  if (!deed.object.empty()) body["object"] = deed.object;
  if (!deed.value.empty()) body["value"] = deed.value;
  if (deed.act == "stop") return send(arguments, stop_path, {deed, {}}, std::move(body), tries_of_safe);
  const auto what = record::named<Act>(deed.act);
  if (what && makes_safe(*what))
    return send(arguments, "/v1/act", {deed, picture_for_words(arguments)}, std::move(body), tries_of_safe);
  const Asked asked{deed, picture_of(arguments)};
  if (what && loosens(*what, deed.object)) body["seen"] = seen_by_person(arguments, asked.before);
  return send(arguments, "/v1/act", asked, std::move(body));
}

int act_on_files(const Arguments& arguments, const std::string& path, const std::string& value) {
  const Asked asked{{path, {}, value}, picture_of(arguments)};
  json::object body;
  if (const auto what = record::named<Act>(path); what && loosens(*what, {})) body["seen"] = seen_by_person(arguments, asked.before);
  if (!value.empty()) body["value"] = value;
  return send(arguments, "/v1/" + path, asked, std::move(body));
}

}  // namespace standfast::client
