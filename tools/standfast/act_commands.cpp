// Acts of persons: from words to the daemon's act, nothing more. Whether it may be done is decided there.
#include <algorithm>
#include <iostream>

#include "config/nearest_word.hpp"
#include "daemon/service/act_request.hpp"
#include "daemon/service/safe_act.hpp"
#include "tools/standfast/columns.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

[[noreturn]] void unknown_word(const std::string& word, std::span<const std::string_view> known) {
  std::string text = "'" + word + "' is not one of";
  for (const std::string_view each : known) text += " " + std::string(each);
  const std::string near{nearest_word(word, known)};
  throw Trouble{usage, text + (near.empty() ? "" : "; did you mean '" + near + "'?")};
}

void need_one_of(const std::string& word, std::span<const std::string_view> known) {
  if (std::find(known.begin(), known.end(), word) == known.end()) unknown_word(word, known);
}

// `60s` and `60 s` are the same to a hand.
std::string spaced_duration(std::string text) {
  const std::size_t unit = text.find_first_not_of("0123456789.");
  if (unit != std::string::npos && unit > 0 && text[unit] != ' ') text.insert(unit, " ");
  return text;
}

int show_stages(const Arguments& arguments) {
  const json::object picture = picture_of(arguments);
  const json::array& list = array_at(picture, "stages");
  if (arguments.has("json")) {
    std::cout << json::serialize(json::object{{"schema", "standfast-stages-1"},
                                              {"time", picture.at("time")},
                                              {"stages", list},
                                              {"stage", picture.at("stage")}})
              << '\n';
    return done;
  }
  std::cout << simulated_heading(picture);
  TableText table{{"no", "stage", "state", ""}, {true, false, false, false}, {}};
  for (const json::value& each : list) {
    const json::object& stage = each.as_object();
    std::string state = text_at(stage, "state");
    std::replace(state.begin(), state.end(), '_', ' ');
    table.lines.push_back({text_at(stage, "number"), text_at(stage, "name"), state,
                           truth_at(stage, "in_this_version") ? "" : "not in this version"});
  }
  std::cout << text_of(table);
  for (const json::value& each : array_at(object_at(picture, "stage"), "criteria")) {
    const json::object& criterion = each.as_object();
    std::cout << (truth_at(criterion, "met") ? "  met   " : "  wait  ") << text_at(criterion, "name") << "  "
              << text_at(criterion, "facts") << '\n';
  }
  return done;
}

}  // namespace

int acknowledge(const Arguments& arguments) { return act(arguments, {"acknowledge", arguments.operand(0), {}}); }

int silence(const Arguments& arguments) {
  return act(arguments, {"silence", {}, spaced_duration(arguments.operand(0))});
}

int stop(const Arguments& arguments) {
  Arguments with_reason = arguments;
  if (!arguments.operands.empty()) with_reason.options["reason"] = arguments.rest(0);
  // Here already: bytes that are no UTF-8 would make the whole request no JSON, and a long text the body too long.
  if (with_reason.has("reason")) with_reason.options["reason"] = plain_words(with_reason.get("reason"), reason_most);
  return act(with_reason, {"stop", {}, {}});
}

int reset(const Arguments& arguments) { return act(arguments, {"reset", arguments.operand(0), {}}); }

int permit(const Arguments& arguments) {
  constexpr std::string_view kinds[] = {"raise", "top-up", "lower", "commission", "recover", "end"};
  const std::string kind = arguments.operand(0);
  need_one_of(kind, kinds);
  if (kind == "end") return act(arguments, {"permit_end", {}, {}});
  return act(arguments, {"permit_give", kind, arguments.rest(1)});
}

int stage(const Arguments& arguments) {
  constexpr std::string_view verbs[] = {"show", "enter", "propose", "approve", "abandon", "skip"};
  const std::string verb = arguments.operand(0), name = arguments.rest(1);
  need_one_of(verb, verbs);
  if (verb == "show") return show_stages(arguments);
  if ((verb == "enter" || verb == "skip") && name.empty())
    throw Trouble{usage, "which stage? `standfast stage show` lists them"};
  return act(arguments, {"stage_" + verb, name, {}});
}

int accept(const Arguments& arguments) { return act(arguments, {"accept_uncertain", arguments.operand(0), {}}); }

int prove(const Arguments& arguments) {
  if (arguments.operands.size() > 1) return act(arguments, {"prove_end", arguments.operand(0), arguments.rest(1)});
  if (!arguments.operands.empty()) return act(arguments, {"prove_start", arguments.operand(0), {}});
  const json::object picture = picture_of(arguments);
  const json::array& list = array_at(picture, "proofs");
  if (arguments.has("json")) {
    std::cout << json::serialize(
                     json::object{{"schema", "standfast-proofs-1"}, {"time", picture.at("time")}, {"proofs", list}})
              << '\n';
    return done;
  }
  std::cout << simulated_heading(picture);
  TableText table{{"proof", "state", "is begun"}, {false, false, false}, {}};
  for (const json::value& each : list) {
    const json::object& proof = each.as_object();
    const std::string why = text_at(proof, "why");
    table.lines.push_back({text_at(proof, "name"), truth_at(proof, "running")  ? "running"
                                                   : truth_at(proof, "passed") ? "passed"
                                                                               : "not passed" + (why.empty() ? "" : ": " + why),
                           truth_at(proof, "passed") ? "" : text_at(proof, "wants")});
  }
  std::cout << text_of(table);
  return done;
}

int zero(const Arguments& arguments) {
  constexpr std::string_view verbs[] = {"propose", "approve"};
  need_one_of(arguments.operand(0), verbs);
  return act(arguments, {"zero_" + arguments.operand(0), arguments.operand(1), {}});
}

int shift(const Arguments& arguments) {
  constexpr std::string_view verbs[] = {"end"};
  need_one_of(arguments.operand(0), verbs);
  return act(arguments, {"shift_end", {}, {}});
}

}  // namespace standfast::client
