// Every rehearsal in this folder and of the example job, run as `standfast rehearse` would.
#include <catch2/catch.hpp>

#include <algorithm>
#include <filesystem>

#include "tools/rehearse/run.hpp"

namespace {

std::vector<std::filesystem::path> rehearsals_in(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    if (entry.path().extension() == ".yaml" && entry.path().filename() != "stages.yaml") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

std::string told(const standfast::rehearse::Outcome& outcome) {
  std::string text;
  for (const auto& failing : outcome.failing)
    text += failing.file + ":" + std::to_string(failing.place.line) + ": at " + std::to_string(failing.at.seconds()) +
            " s: " + failing.what + "\n";
  return text;
}

void all_go_as_they_say(const std::filesystem::path& folder) {
  const auto files = rehearsals_in(folder);
  REQUIRE_FALSE(files.empty());
  for (const auto& file : files) {
    const auto prepared = standfast::rehearse::prepare(file);
    INFO(file);
    if (!prepared) FAIL(prepared.error());
    const auto outcome = standfast::rehearse::run(*prepared);
    CHECK(outcome.checks > 0);
    if (!outcome.failing.empty()) FAIL_CHECK(told(outcome));
  }
}

}  // namespace

TEST_CASE("every rehearsal of this folder goes as it says") { all_go_as_they_say(TEST_DATA "/scenarios"); }

TEST_CASE("the example job's plan, as it stands, does what its rehearsals say") {
  all_go_as_they_say(SOURCE_ROOT "/config/examples/grain-store/rehearsals");
}
