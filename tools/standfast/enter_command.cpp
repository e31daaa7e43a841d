// enter: a reading that a person took, typed twice, or words to be kept.
#include <unistd.h>

#include <algorithm>
#include <iostream>

#include "daemon/core/by_hand.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

bool is_read_by_hand(const json::object& picture, const std::string& name) {
  const json::array& channels = array_at(picture, "channels");
  return std::any_of(channels.begin(), channels.end(), [&](const json::value& channel) {
    return text_at(channel.as_object(), "name") == name && truth_at(channel.as_object(), "by_hand");
  });
}

std::string typed_again(const Arguments& arguments) {
  if (arguments.has("again")) return arguments.get("again");
  if (!::isatty(STDIN_FILENO) || !::isatty(STDERR_FILENO))
    throw Trouble{usage, "a reading by hand is entered twice: --again VALUE, read off the instrument once more"};
  std::cerr << "Read it off once more and enter " << arguments.operand(0) << " again, with its unit: " << std::flush;
  std::string again;
  std::getline(std::cin, again);
  return again;
}

// Who enters what is beyond a limit shall not have to look elsewhere for it.
void tell_signal(const Arguments& arguments) {
  const json::object picture = picture_of(arguments), signal = object_at(picture, "signal");
  const std::string level = text_at(signal, "level");
  if (level != "hold" && level != "stop") return;
  std::cout << text_at(signal, "word") << "  " << text_at(signal, "subject") << ": " << text_at(signal, "why") << "\n"
            << text_at(signal, "what_to_do") << "\n";
}

}  // namespace

int enter(const Arguments& arguments) {
  const std::string subject = arguments.operand(0), words = arguments.rest(1);
  if (!arguments.has("again") && !is_read_by_hand(picture_of(arguments), subject)) return act(arguments, {"enter_note", subject, words});
  const int code = act(arguments, {"enter_reading", subject, words + std::string(entered_again) + typed_again(arguments)});
  if (code == done && !arguments.has("json")) tell_signal(arguments);
  return code;
}

}  // namespace standfast::client
