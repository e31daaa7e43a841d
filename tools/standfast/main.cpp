// standfast: the command line. From the table of commands to a parser, and from whatever goes wrong to an exit code.
#include <CLI/CLI.hpp>
#include <csignal>
#include <iostream>

#include "config/nearest_word.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/exit_code.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

const Option common[] = {
    {"station", "DIR", "folder of people and socket; default: the system's"},
    {"json", "", "one JSON object instead of text"},
    {"utc", "", "times in UTC instead of this machine's zone"},
    {"colour", "WHEN", "always or never; default: on a terminal"},
};

std::string examples_of(const Command& command) {
  std::string text = "\nExamples:\n  ";
  for (const char* c = command.examples; *c; ++c) text += *c == '\n' ? std::string("\n  ") : std::string(1, *c);
  return text;
}

void add(CLI::App& app, const Option& option, Arguments& typed) {
  const std::string name = option.name;
  if (*option.value_word == '\0')
    app.add_flag_callback("--" + name, [&typed, name] { typed.options[name] = "yes"; }, option.help);
  else
    app.add_option_function<std::string>("--" + name, [&typed, name](const std::string& value) { typed.options[name] = value; },
                                         option.help)->type_name(option.value_word);
}

void add(CLI::App& app, const Command& command, Arguments& typed) {
  CLI::App* sub = app.add_subcommand(command.name, command.summary);
  sub->footer(examples_of(command));
  if (command.most > 0) {
    auto* operands = sub->add_option("operands", typed.operands, command.operands);
    operands->expected(static_cast<int>(command.least), static_cast<int>(command.most));
    operands->required(command.least > 0)->type_name("")->option_text(command.operands);
  }
  for (const Option& option : command.options) add(*sub, option, typed);
  for (const Option& option : common) add(*sub, option, typed);
}

const Command* command_named(const std::string& name) {
  for (const Command& command : commands())
    if (command.name == name) return &command;
  return nullptr;
}

int unknown(const std::string& name) {
  std::vector<std::string_view> names;
  for (const Command& command : commands()) names.push_back(command.name);
  const std::string_view near = nearest_word(name, names);
  std::cerr << "standfast: no command '" << name << "'" << (near.empty() ? "" : "; did you mean '" + std::string(near) + "'?")
            << "\n`standfast --help` lists them\n";
  return usage;
}

int run(int argc, char** argv) {
  Arguments typed;
  CLI::App app{"Talks to the daemon that watches a jacking job. An aid, not a safety-rated device: nobody stays under a\n"
               "load held by hydraulics alone, and the licensed engineer decides."};
  app.set_version_flag("--version", "standfast " STANDFAST_VERSION);
  app.require_subcommand(1);
  for (const Command& command : commands()) add(app, command, typed);
  if (argc > 1 && argv[1][0] != '-' && !command_named(argv[1])) return unknown(argv[1]);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? done : usage;
  }
  return command_named(app.get_subcommands().front()->get_name())->run(typed);
}

}  // namespace
}  // namespace standfast::client

int main(int argc, char** argv) {
  using namespace standfast::client;
  std::signal(SIGPIPE, SIG_DFL);
  try {
    return run(argc, argv);
  } catch (const Trouble& trouble) {
    std::cerr << "standfast: " << trouble.text << '\n';
    return trouble.code;
  } catch (const std::exception& error) {
    std::cerr << "standfast: " << error.what() << '\n';
    return internal;
  }
}
