// standfast: the command line. From the table of commands to a parser, and from whatever goes wrong to an exit code.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <csignal>
#include <iostream>

#include "config/nearest_word.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/exit_code.hpp"
#include "tools/standfast/stop_word.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

const Option common[] = {
    {"station", "DIR", "folder of people and socket; default: the system's"},
    {"json", "", "one JSON object instead of text"},
    {"utc", "", "times in UTC instead of this machine's zone"},
    {"colour", "WHEN", "always or never; default: on a terminal"},
};

const Command* command_named(const std::string& name) {
  for (const Command& command : commands())
    if (command.name == name) return &command;
  return nullptr;
}

std::string usage_of(const Command& command) {
  const std::string operands = command.operands;
  return "standfast " + std::string(command.name) + (operands.empty() ? "" : " ") + operands;
}

// Help in this program's own words: how it goes, then the options.
class Help final : public CLI::Formatter {
 public:
  std::string make_usage(const CLI::App* app, std::string) const override {
    const Command* command = command_named(app->get_name());
    return "\nIt goes: " + (command ? usage_of(*command) + " [OPTION]..." : std::string("standfast COMMAND [WHAT]... [OPTION]...")) + "\n";
  }
  std::string make_positionals(const CLI::App*) const override { return {}; }
};

constexpr int most_words = 10'000;  // A shell passes more than any command takes; what is too much is said by this program.

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
    operands->expected(0, most_words)->type_name("")->option_text(command.operands);
  }
  sub->allow_extras()->group("Commands")->set_help_flag("-h,--help", "this page");
  for (const Option& option : command.options) add(*sub, option, typed);
  for (const Option& option : common) add(*sub, option, typed);
}

int unknown(const std::string& name) {
  std::vector<std::string_view> names;
  for (const Command& command : commands()) names.push_back(command.name);
  const std::string_view near = nearest_word(name, names);
  std::cerr << "standfast: no command '" << name << "'" << (near.empty() ? "" : "; did you mean '" + std::string(near) + "'?")
            << "\n`standfast --help` lists them\n";
  return usage;
}

[[noreturn]] void mistyped(const Command& command, const std::string& what) {
  throw Trouble{usage, what + "\nit goes: " + usage_of(command) + "\n`standfast " + command.name + " --help` shows examples"};
}

// What was typed and belongs to nothing: options that do not exist, and more operands than the command takes.
void check_typed(const Command& command, const std::vector<std::string>& extra, const Arguments& typed) {
  std::vector<std::string_view> known;
  for (const Option& option : command.options) known.push_back(option.name);
  for (const Option& option : common) known.push_back(option.name);
  for (const std::string& word : extra) {
    if (!word.starts_with("--")) mistyped(command, "'" + word + "' is one too many");
    const std::string name = word.substr(2, word.find('=') - 2), near{nearest_word(name, known)};
    mistyped(command, "no option '" + word + "'" + (near.empty() ? "" : "; did you mean '--" + near + "'?"));
  }
  for (const auto& [name, value] : typed.options)
    if (value.starts_with("--")) mistyped(command, "--" + name + " wants a value behind it, not " + value);
  if (typed.operands.size() > command.most) mistyped(command, "'" + typed.operands[command.most] + "' is one too many");
  if (typed.operands.size() < command.least) mistyped(command, "something is missing behind '" + std::string(command.name) + "'");
}

// `--name`, of any command, with a value in the word behind it.
bool wants_value(const std::string& word) {
  const auto is_it = [&](const Option& option) { return *option.value_word != '\0' && word == "--" + std::string(option.name); };
  return std::any_of(std::begin(common), std::end(common), is_it) ||
         std::any_of(commands().begin(), commands().end(), [&](const Command& each) {
           return std::any_of(each.options.begin(), each.options.end(), is_it);
         });
}

// Where the command stands: the first word that is neither an option nor an option's value. 0: nowhere.
int place_of_command(int argc, char** argv) {
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (!word.starts_with('-')) return i;
    if (wants_value(word)) ++i;
  }
  return 0;
}

bool is_stop(int argc, char** argv) {
  const int place = place_of_command(argc, argv);
  return place > 0 && argv[place] == std::string("stop");
}

// A stop is never refused for a typing error: what cannot be read is its reason. Only where to call it is looked for.
int stop_all_the_same(int argc, char** argv) {
  constexpr std::string_view station = "--station";
  const int place = place_of_command(argc, argv);
  Arguments typed;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (i == place) continue;
    if (word == station && i + 1 < argc) typed.options["station"] = argv[++i];
    else if (word.starts_with(std::string(station) + "=")) typed.options["station"] = word.substr(station.size() + 1);
    else typed.operands.push_back(word);
  }
  return command_named("stop")->run(typed);
}

int mistyped_value(const Command& command, const std::string& what) {
  const std::string option = what.substr(0, what.find(':'));
  for (const Option& each : command.options)
    if (option == "--" + std::string(each.name)) mistyped(command, option + " wants a value behind it: " + each.value_word);
  for (const Option& each : common)
    if (option == "--" + std::string(each.name)) mistyped(command, option + " wants a value behind it: " + each.value_word);
  mistyped(command, "this cannot be read");
}

int run(int argc, char** argv) {
  Arguments typed;
  CLI::App app{"Talks to the daemon that watches a jacking job. An aid, not a safety-rated device: nobody stays under a\n"
               "load held by hydraulics alone, and the licensed engineer decides."};
  app.formatter(std::make_shared<Help>());
  app.set_help_flag("-h,--help", "this page; behind a command, that command's");
  app.set_version_flag("--version", "standfast " STANDFAST_VERSION, "the version");
  app.require_subcommand(1);
  for (const Command& command : commands()) add(app, command, typed);
  static char stop_word[] = "stop";
  if (argc > 1 && !command_named(argv[1]) && means_stop(argv[1])) argv[1] = stop_word;
  if (argc > 1 && argv[1] == std::string("help")) return std::cout << app.help(), done;
  if (argc > 1 && argv[1][0] != '-' && !command_named(argv[1])) return unknown(argv[1]);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error), done;
    if (is_stop(argc, argv)) return stop_all_the_same(argc, argv);
    const Command* command = argc > 1 ? command_named(argv[1]) : nullptr;
    if (command) return mistyped_value(*command, error.what());
    throw Trouble{usage, argc > 1 ? "no option '" + std::string(argv[1]) + "'\n`standfast --help` lists the commands"
                                  : "what shall be done? `standfast --help` lists the commands"};
  }
  const CLI::App& sub = *app.get_subcommands().front();
  const Command& command = *command_named(sub.get_name());
  const std::vector<std::string> extra = sub.remaining();
  try {
    check_typed(command, extra, typed);
  } catch (const Trouble&) {
    if (command.name == std::string("stop")) return stop_all_the_same(argc, argv);
    throw;
  }
  return command.run(typed);
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
