#include "tools/standfast/colour.hpp"

#include <unistd.h>

#include <cstdlib>
#include <string_view>

namespace standfast::client {
namespace {

std::string_view environment(const char* name) {
  const char* value = std::getenv(name);
  return value ? value : "";
}

}  // namespace

bool coloured(const Arguments& arguments) {
  const std::string wanted = arguments.get("colour");
  if (wanted == "always") return true;
  if (wanted == "never") return false;
  return ::isatty(STDOUT_FILENO) == 1 && environment("TERM") != "dumb" && environment("NO_COLOR").empty();
}

std::string inked(const std::string& text, Ink ink, bool coloured) {
  if (!coloured) return text;
  switch (ink) {
    case Ink::plain: return text;
    case Ink::hold: return "\x1b[30;43m" + text + "\x1b[0m";
    case Ink::stop: return "\x1b[1;97;41m" + text + "\x1b[0m";
    case Ink::strong: return "\x1b[1m" + text + "\x1b[0m";
  }
  return text;
}

}  // namespace standfast::client
