// A command as data: what it is called, what it takes, an example, and what it does. The table of all of them is in
// commands.cpp; the program, its help and its completion are made from it.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

namespace standfast::client {

struct Option {
  const char* name;          // Without dashes.
  const char* value_word;   // Empty: a flag without a value.
  const char* help;
};

// What was typed, by option name; operands in order.
struct Arguments {
  std::vector<std::string> operands;
  std::map<std::string, std::string> options;

  bool has(const std::string& option) const { return options.contains(option); }
  std::string get(const std::string& option, const std::string& otherwise = {}) const {
    const auto found = options.find(option);
    return found == options.end() ? otherwise : found->second;
  }
  std::string operand(std::size_t place) const { return place < operands.size() ? operands[place] : std::string{}; }
  // All from that place on, with one space between.
  std::string rest(std::size_t place) const;
};

struct Command {
  const char* name;
  const char* operands;       // For the usage line: "ALARM|all"; square brackets where they may be left out.
  std::size_t least, most;    // How many operands.
  const char* summary;
  std::vector<Option> options;
  const char* examples;       // Complete lines.
  int (*run)(const Arguments&);
};

std::span<const Command> commands();

}  // namespace standfast::client
