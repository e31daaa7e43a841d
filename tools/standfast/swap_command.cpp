// swap: from words to the acts of a swap, and the list of what is being swapped.
#include <algorithm>
#include <iostream>

#include "config/nearest_word.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

json::array swaps_in(const json::object& picture) {
  json::array list;
  for (const json::value& each : array_at(picture, "channels"))
    if (const json::object& channel = each.as_object(); channel.contains("swap"))
      list.push_back(json::object{{"channel", channel.at("name")}, {"swap", channel.at("swap")}});
  return list;
}

int show_swaps(const Arguments& arguments) {
  const json::object picture = picture_of(arguments);
  const json::array list = swaps_in(picture);
  if (arguments.has("json")) {
    std::cout << json::serialize(json::object{{"schema", "standfast-swaps-1"}, {"time", picture.at("time")}, {"swaps", list}}) << '\n';
    return done;
  }
  std::cout << simulated_heading(picture) << (list.empty() ? "no instrument is being swapped\n" : "");
  for (const json::value& each : list) {
    const json::object& swap = object_at(each.as_object(), "swap");
    std::cout << text_at(each.as_object(), "channel") << "  " << text_at(swap, "stands") << "; it shows " << text_at(swap, "shows")
              << "\n    next: " << text_at(swap, "wants") << '\n';
  }
  return done;
}

int begin_swap(const Arguments& arguments) {
  const std::string certificate = arguments.get("certificate");
  if (certificate.empty())
    throw Trouble{usage, "which instrument is put in? Say --certificate NUMBER --due DAY; `standfast swap` lists what is being swapped"};
  return act(arguments, {"swap_begin", arguments.operand(0), certificate + (arguments.has("due") ? " due " + arguments.get("due") : "")});
}

}  // namespace

int swap_instrument(const Arguments& arguments) {
  constexpr std::string_view verbs[] = {"feeler", "dial", "moved", "approve", "abandon"};
  if (arguments.operands.empty()) return show_swaps(arguments);
  if (arguments.operands.size() == 1) return begin_swap(arguments);
  // One word or several: what begins with a sign has to stand in one.
  const std::string channel = arguments.operand(0), wish = arguments.rest(1), verb = wish.substr(0, wish.find(' '));
  if (std::find(std::begin(verbs), std::end(verbs), verb) == std::end(verbs)) {
    const std::string near{nearest_word(verb, verbs)};
    throw Trouble{usage, "'" + verb + "' is not one of feeler dial moved approve abandon" +
                             (near.empty() ? "" : "; did you mean '" + near + "'?")};
  }
  if (verb == "approve" || verb == "abandon") return act(arguments, {"swap_" + verb, channel, {}});
  return act(arguments, {"swap_prove", channel, wish});
}

}  // namespace standfast::client
