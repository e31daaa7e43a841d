// status, and watch, which is status drawn again and again.
#include <charconv>
#include <chrono>
#include <iostream>
#include <thread>

#include "tools/standfast/commands.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/screen.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

constexpr const char* clear_screen = "\x1b[H\x1b[2J";

int seconds_between(const Arguments& arguments) {
  const std::string text = arguments.get("every", "1");
  int seconds = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), seconds);
  if (error != std::errc{} || end != text.data() + text.size() || seconds < 1 || seconds > 60)
    throw Trouble{usage, "--every wants a whole number of seconds from 1 to 60"};
  return seconds;
}

// A site whose daemon is silent must not look like one where nothing happens.
boost::json::object picture_of_the_watch(const Arguments& arguments) {
  try {
    return picture_of(arguments);
  } catch (const Trouble& trouble) {
    if (trouble.code != not_reachable) throw;
    throw Trouble{not_reachable, "No daemon answers: nothing is watched, take it as HOLD.\n" + trouble.text};
  }
}

// One picture, or why there is none: a screen that is not renewed must never look as if it were.
std::string drawn(const Arguments& arguments) {
  try {
    std::string text = screen_text(screen_of(picture_of_the_watch(arguments), LocalTime{arguments}), coloured(arguments));
    text.pop_back();  // The last line end would push the band off a terminal of 24 lines.
    return text;
  } catch (const Trouble& trouble) {
    return "NO DATA\n\n" + trouble.text +
           "\nThis screen shows nothing until the daemon answers. To stop the work, call stop; use the site stop.\n";
  }
}

}  // namespace

int status(const Arguments& arguments) {
  const boost::json::object picture = picture_of_the_watch(arguments);
  if (arguments.has("json"))
    std::cout << boost::json::serialize(picture) << '\n';
  else
    std::cout << screen_text(screen_of(picture, LocalTime{arguments}), coloured(arguments));
  return status_code(picture);
}

int watch(const Arguments& arguments) {
  const std::chrono::seconds pause{seconds_between(arguments)};
  while (true) {
    if (arguments.has("json"))
      std::cout << boost::json::serialize(picture_of_the_watch(arguments)) << std::endl;
    else
      std::cout << clear_screen << drawn(arguments) << std::flush;
    std::this_thread::sleep_for(pause);
  }
}

}  // namespace standfast::client
