// Every code of the table is produced by at least three files of tests/config/corpus, at the place that the file's name
// says (`_L12C3`), and by nothing else that is wrong in the file. A stages file is read with the rig of two jacks.
#include <catch2/catch.hpp>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <regex>
#include <sstream>

#include "config/finding_codes.hpp"
#include "config/finding_text.hpp"
#include "config/load_rig.hpp"
#include "config/load_stages.hpp"
#include "config/plan_check.hpp"
#include "config/yaml_reader.hpp"

using namespace standfast;
namespace fs = std::filesystem;

namespace {

const fs::path corpus = fs::path{TEST_DATA} / "config" / "corpus";

std::string bytes_of(const fs::path& path) {
  std::ifstream file{path, std::ios::binary};
  REQUIRE(file);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

struct Outcome {
  bool loaded{false};
  Findings findings;
};

const Rig& two_jacks() {
  static const Rig rig = [] {
    auto loaded = load_rig(bytes_of(corpus / "good" / "two-jacks.rig.yaml"), "two-jacks.rig.yaml");
    REQUIRE(loaded.value);
    return *loaded.value;
  }();
  return rig;
}

Outcome read(const std::string& name, const std::string& bytes) {
  if (name.find(".rig.") != std::string::npos) {
    auto rig = load_rig(bytes, name);
    return {rig.value.has_value(), rig.findings};
  }
  auto plan = load_stages(bytes, name, two_jacks());
  if (!plan.value) return {false, plan.findings};
  for (Finding& f : check_plan(two_jacks(), *plan.value, name).findings) plan.findings.push_back(f);
  return {true, plan.findings};
}

// `_L12C3` of the name.
std::pair<int, int> place_in(const std::string& name) {
  std::smatch match;
  REQUIRE(std::regex_search(name, match, std::regex{"_L([0-9]+)C([0-9]+)[_.]"}));
  return {std::stoi(match[1]), std::stoi(match[2])};
}

bool is_where_expected(const Finding& f, const std::string& code, std::pair<int, int> place) {
  return f.code == code && f.line == place.first && f.column == place.second;
}

void check_file(const fs::path& path, const std::string& code) {
  const std::string name = path.filename().string(), bytes = bytes_of(path);
  const Outcome outcome = read(name, bytes);
  INFO(path << "\n" << findings_text(outcome.findings, bytes, name, ""));
  const auto place = place_in(name);
  CHECK(std::any_of(outcome.findings.begin(), outcome.findings.end(),
                    [&](const Finding& f) { return is_where_expected(f, code, place); }));
  if (code != "E-too-many-findings") {
    CHECK(std::all_of(outcome.findings.begin(), outcome.findings.end(),
                      [&](const Finding& f) { return f.code == code; }));
  }
  CHECK(outcome.loaded == (code.front() == 'W'));
}

std::map<std::string, std::vector<fs::path>> files_by_code() {
  std::map<std::string, std::vector<fs::path>> files;
  for (const auto& entry : fs::recursive_directory_iterator{corpus}) {
    if (entry.is_regular_file() && entry.path().parent_path() != corpus / "good")
      files[entry.path().parent_path().filename().string()].push_back(entry.path());
  }
  return files;
}

}  // namespace

TEST_CASE("each bad file is refused for its reason, at its place, and for nothing else") {
  for (const auto& [code, paths] : files_by_code()) {
    REQUIRE(find_code(code) != nullptr);
    for (const fs::path& path : paths) check_file(path, code);
  }
}

TEST_CASE("each code has at least three bad files") {
  auto files = files_by_code();
  // Files too large to be kept are made below, one that cannot be read and one that is read too late in tests/service.
  const std::vector<std::string> made{"E-file-size", "E-too-many-values", "E-file-unreadable", "W-certificate"};
  for (const CodeEntry& entry : finding_codes()) {
    INFO(entry.code);
    const std::string code{entry.code};
    if (std::find(made.begin(), made.end(), code) == made.end()) CHECK(files[code].size() >= 3);
  }
}

TEST_CASE("a file above 256 KiB is not read") {
  const std::string comment = "# " + std::string(98, 'x') + "\n";
  std::string large = "rig: Large\n";
  while (large.size() <= most_yaml_bytes) large += comment;
  const std::string binary(most_yaml_bytes + 1, '\0');
  const std::string keys = [] {
    std::string text;
    for (int i = 0; text.size() <= most_yaml_bytes; ++i) text += "key" + std::to_string(i) + ": 1\n";
    return text;
  }();
  for (const std::string& bytes : {large, binary, keys}) {
    const auto loaded = load_rig(bytes, "rig.yaml");
    CHECK(!loaded.value);
    REQUIRE(loaded.findings.size() == 1);
    CHECK(loaded.findings.front().code == "E-file-size");
  }
}

TEST_CASE("a file of more than 40,000 values is not read to its end") {
  std::string list = "rig: [\n", nested = "rig: [\n", keys = "rig: {\n";
  for (int i = 0; i < 900; ++i) {
    for (int j = 0; j < 50; ++j) {
      list += "1,";
      nested += "[],";
      keys += j % 2 == 0 ? "" : "k" + std::to_string(i * 50 + j) + ",";
    }
    list += "\n";
    nested += "\n";
    keys += "\n";
  }
  for (const std::string& bytes : {list + "]\n", nested + "]\n", keys + "}\n"}) {
    const auto loaded = load_rig(bytes, "rig.yaml");
    CHECK(!loaded.value);
    CHECK(std::any_of(loaded.findings.begin(), loaded.findings.end(),
                      [](const Finding& f) { return f.code == "E-too-many-values"; }));
  }
}

TEST_CASE("the good files load, and say nothing but what their first lines admit") {
  for (const auto& entry : fs::directory_iterator{corpus / "good"}) {
    const std::string name = entry.path().filename().string(), bytes = bytes_of(entry.path());
    const Outcome outcome = read(name, bytes);
    INFO(findings_text(outcome.findings, bytes, name, ""));
    CHECK(outcome.loaded);
    CHECK(!has_error(outcome.findings));
    if (name != "all-wires.rig.yaml" && name != "watch-only.rig.yaml") CHECK(outcome.findings.empty());
  }
}

TEST_CASE("each finding says what was expected, in lower case and without a full stop") {
  for (const auto& [code, paths] : files_by_code()) {
    for (const fs::path& path : paths) {
      for (const Finding& f : read(path.filename().string(), bytes_of(path)).findings) {
        INFO(path << ": " << f.message);
        CHECK(!f.message.empty());
        CHECK(f.message.back() != '.');
        CHECK(std::isupper(static_cast<unsigned char>(f.message.front())) == 0);
        CHECK(f.line >= 1);
        CHECK(f.column >= 1);
      }
    }
  }
}
