// rehearse: does the plan do what the engineer says it does? Needs no daemon.
#include <boost/json.hpp>
#include <cstdio>
#include <filesystem>
#include <iostream>

#include "config/time_text.hpp"
#include "drivers/boot_clock.hpp"
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
  std::cout << json::serialize(json::object{{"schema", "standfast-rehearsal-1"},
                                            {"time", wall_time_text(wall_time_now())},
                                            {"file", file},
                                            {"title", outcome.title},
                                            {"checks", outcome.checks},
                                            {"failing", std::move(failing)}})
            << '\n';
}

struct Counts {
  int passed{0}, failed{0}, unreadable{0}, passed_over{0};
};

void rehearse_one(const Arguments& arguments, const std::string& file, Counts& counts) {
  if (!std::filesystem::exists(file)) throw Trouble{no_input, file + ": there is no such file"};
  const rehearse::FileKind kind = rehearse::kind_of_file(file);
  if (kind == rehearse::FileKind::plan || kind == rehearse::FileKind::rig) {
    ++counts.passed_over;
    std::cerr << file << ": passed over, it is a " << (kind == rehearse::FileKind::plan ? "plan" : "rig") << " and no rehearsal\n";
    return;
  }
  const auto prepared = rehearse::prepare(file);
  if (!prepared) {
    ++counts.unreadable;
    std::cerr << prepared.error();
    return;
  }
  const rehearse::Outcome outcome = rehearse::run(*prepared);
  ++(outcome.failing.empty() ? counts.passed : counts.failed);
  if (arguments.has("json")) tell_json(file, outcome);
  else tell(outcome);
}

}  // namespace

int rehearse_plan(const Arguments& arguments) {
  Counts counts;
  for (const std::string& file : arguments.operands) rehearse_one(arguments, file, counts);
  if (!arguments.has("json")) {
    std::cout << counts.passed << " passed, " << counts.failed << " failed";
    if (counts.unreadable > 0) std::cout << ", " << counts.unreadable << " not to be read";
    if (counts.passed_over > 0) std::cout << ", " << counts.passed_over << " passed over";
    std::cout << "; in simulated time\n";
  }
  if (counts.unreadable > 0 || counts.passed + counts.failed == 0) return bad_input;
  return counts.failed == 0 ? done : findings;
}

}  // namespace standfast::client
