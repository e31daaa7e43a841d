// rehearse: does the plan do what the engineer says it does? Needs no daemon.
#include <boost/json.hpp>
#include <cstdio>
#include <filesystem>
#include <iostream>

#include "tools/rehearse/run.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

std::string seconds_text(Duration at) {
  char text[40];
  std::snprintf(text, sizeof text, "%.3f s", at.seconds());
  return text;
}

std::string line_of(const rehearse::Failing& failing) {
  return failing.file + ":" + std::to_string(failing.place.line) + ": at " + seconds_text(failing.at) + ": " + failing.what;
}

void tell(const rehearse::Outcome& outcome) {
  std::cout << (outcome.failing.empty() ? "passed  " : "FAILED  ") << outcome.title << " (" << outcome.checks << " checks)\n";
  for (const auto& failing : outcome.failing) std::cout << "        " << line_of(failing) << '\n';
}

void tell_json(const std::string& file, const rehearse::Outcome& outcome) {
  json::array failing;
  for (const auto& each : outcome.failing)
    failing.push_back(json::object{{"file", each.file}, {"line", each.place.line}, {"at_ns", each.at.ns}, {"what", each.what}});
  std::cout << json::serialize(json::object{{"schema", "standfast-rehearsal-1"}, {"file", file}, {"title", outcome.title},
                                            {"checks", outcome.checks}, {"failing", std::move(failing)}})
            << '\n';
}

}  // namespace

int rehearse_plan(const Arguments& arguments) {
  int failed = 0;
  for (const std::string& file : arguments.operands) {
    if (!std::filesystem::exists(file)) throw Trouble{no_input, file + ": there is no such file"};
    const auto prepared = rehearse::prepare(file);
    if (!prepared) throw Trouble{bad_input, prepared.error()};
    const rehearse::Outcome outcome = rehearse::run(*prepared);
    failed += outcome.failing.empty() ? 0 : 1;
    if (arguments.has("json")) tell_json(file, outcome);
    else tell(outcome);
  }
  if (!arguments.has("json"))
    std::cout << arguments.operands.size() - static_cast<std::size_t>(failed) << " passed, " << failed << " failed\n";
  return failed == 0 ? done : findings;
}

}  // namespace standfast::client
