// Rehearsals that expect something wrong: each fails at the one line that says so, with the words behind `# fails: `.
#include <catch2/catch.hpp>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "tools/rehearse/run.hpp"

using namespace standfast;

namespace {

const std::filesystem::path wrong = TEST_DATA "/scenarios/wrong";

struct Expected { int line{0}; std::string what; };

Expected expected_of(const std::filesystem::path& file) {
  std::ifstream in(file);
  Expected expected;
  int number = 0;
  for (std::string line; std::getline(in, line);) {
    ++number;
    constexpr std::string_view sign = "  # fails: ";
    if (const auto at = line.find(sign); at != std::string::npos) {
      REQUIRE(expected.line == 0);
      expected = {number, line.substr(at + sign.size())};
    }
  }
  return expected;
}

rehearse::Outcome outcome_of(const std::filesystem::path& file) {
  const auto prepared = rehearse::prepare(file);
  if (!prepared) FAIL(prepared.error());
  return rehearse::run(*prepared);
}

}  // namespace

TEST_CASE("a rehearsal that expects something wrong fails at exactly that line, and says what was") {
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(wrong)) {
    const Expected expected = expected_of(entry.path());
    if (expected.line == 0) continue;
    ++files;
    const rehearse::Outcome outcome = outcome_of(entry.path());
    INFO(entry.path());
    REQUIRE(outcome.failing.size() == 1);
    CHECK(outcome.failing.front().file == entry.path().string());
    CHECK(outcome.failing.front().place.line == expected.line);
    // The words of a refusal stand behind it in brackets.
    const std::string& what = outcome.failing.front().what;
    CHECK(what.substr(0, what.find(" (")) == expected.what);
  }
  CHECK(files == 20);
}

TEST_CASE("what follows a rehearsal that fails is not looked at, and the failure is that of the first") {
  const rehearse::Outcome outcome = outcome_of(wrong / "follows-a-wrong-one.yaml");
  REQUIRE(outcome.failing.size() == 1);
  CHECK(std::filesystem::path(outcome.failing.front().file).filename() == "signal.yaml");
  CHECK(outcome.failing.front().place.line == expected_of(wrong / "signal.yaml").line);
}

TEST_CASE("every expectation and every act of a rehearsal is one check") {
  const auto prepared = rehearse::prepare(TEST_DATA "/scenarios/005-stop-called.yaml");
  REQUIRE(prepared);
  std::size_t said = 0;
  for (const auto& part : prepared->parts) said += part.rehearsal.acts.size() + part.rehearsal.expect.size();
  CHECK(rehearse::run(*prepared).checks == static_cast<int>(said));
}
