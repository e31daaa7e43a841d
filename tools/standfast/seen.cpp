#include "tools/standfast/seen.hpp"

#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <iostream>

#include "tools/standfast/json_text.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

std::int64_t number_in(const std::string& text) {
  std::int64_t seen = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), seen);
  if (error != std::errc{} || end != text.data() + text.size())
    throw Trouble{usage, "--seen wants the number of a picture, as `standfast status` shows it"};
  return seen;
}

std::string with_colon(const std::string& text) { return text.empty() ? text : ": " + text; }

std::string permit_words(const json::object& permit) {
  if (!truth_at(permit, "given")) return "none";
  return text_at(permit, "kind") + " " + text_at(permit, "circuits") + " by " + text_at(permit, "by");
}

std::string stage_words(const json::object& stage) {
  if (!truth_at(stage, "any")) return "none";
  const std::string step = text_at(object_at(stage, "step"), "name");
  return text_at(stage, "name") + (step.empty() ? "" : ", " + step) + ", " + text_at(stage, "state");
}

}  // namespace

std::string picture_words(const json::object& picture) {
  const json::object& signal = object_at(picture, "signal");
  std::string words = "picture " + text_at(picture, "picture") + ", " + text_at(picture, "time") + "\n  signal  " +
                      text_at(signal, "word") + with_colon(text_at(signal, "subject")) + "\n  permit  " +
                      permit_words(object_at(picture, "permit")) + "\n  stage   " + stage_words(object_at(picture, "stage")) + "\n";
  for (const json::value& each : array_at(picture, "alarms")) {
    const json::object& alarm = each.as_object();
    std::string state = text_at(alarm, "state");
    std::replace(state.begin(), state.end(), '_', ' ');
    words += "  alarm   " + text_at(alarm, "number") + "  " + text_at(alarm, "level") + "  " + text_at(alarm, "subject") + ", " +
             state + "\n";
  }
  for (const json::value& each : array_at(picture, "channels"))
    if (each.as_object().contains("swap"))
      words += "  swap    " + text_at(each.as_object(), "name") + ": " + text_at(object_at(each.as_object(), "swap"), "stands") + "\n";
  return words;
}

std::int64_t seen_by_person(const Arguments& arguments, const json::object& picture) {
  if (arguments.has("seen")) return number_in(arguments.get("seen"));
  std::cerr << "decided on " << picture_words(picture) << std::flush;
  if (::isatty(STDIN_FILENO) && ::isatty(STDERR_FILENO)) {
    std::cerr << "Go on with that in sight? Enter sends it, anything else gives up: " << std::flush;
    std::string word;
    if (!std::getline(std::cin, word) || !word.empty()) throw Trouble{try_again, "given up; nothing was sent"};
  }
  return number_at(picture, "picture");
}

}  // namespace standfast::client
