// The schemas and the code list the same words: units, quantities, kinds of stage. (That they agree on whole files is the
// business of schema_check.py.)
#include <catch2/catch.hpp>

#include <algorithm>
#include <regex>
#include <set>

#include "config/quantity_kinds.hpp"
#include "config/unit_table.hpp"
#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

std::set<std::string> parts_of(const std::string& text, char separator) {
  std::set<std::string> parts;
  for (std::size_t at = 0; at <= text.size();) {
    const std::size_t end = std::min(text.find(separator, at), text.size());
    parts.insert(text.substr(at, end - at));
    at = end + 1;
  }
  return parts;
}

std::string match(const std::string& text, const std::string& pattern) {
  std::smatch found;
  INFO(pattern);
  REQUIRE(std::regex_search(text, found, std::regex{pattern}));
  return found[1];
}

std::set<std::string> spellings(Base base) {
  const auto list = unit_spellings({base, Per::none});
  return {list.begin(), list.end()};
}

struct NamedBase {
  const char* name;
  Base base;
};

}  // namespace

TEST_CASE("the schemas know the units that the loader knows") {
  const NamedBase bases[] = {{"force", Base::force},       {"pressure", Base::pressure}, {"length", Base::length},
                             {"area", Base::area},         {"duration", Base::duration}, {"ratio", Base::ratio},
                             {"current", Base::current}};
  for (const char* file : {"config/schema/rig.schema.json", "config/schema/stages.schema.json"}) {
    const std::string schema = test::bytes_of(file);
    for (const NamedBase& b : bases) {
      const std::string name = b.name;
      if (schema.find("\"" + name + "\": {\n") == std::string::npos) continue;
      INFO(file << " " << name);
      CHECK(parts_of(match(schema, "\"" + name + "\": \\{\\s*\"type\": \"string\",\\s*\"pattern\": \"[^\"]* \\(([^\"()]*)\\)\\$\""), '|') ==
            spellings(b.base));
    }
  }
}

TEST_CASE("the schema offers for display the units that the loader takes") {
  const std::string schema = test::bytes_of("config/schema/rig.schema.json");
  const NamedBase bases[] = {{"force", Base::force}, {"temperature", Base::temperature}, {"angle", Base::angle},
                             {"stiffness", Base::stiffness}, {"moment", Base::moment}};
  for (const NamedBase& b : bases) {
    std::string listed = match(schema, "\"" + std::string{b.name} + "\": \\{\"enum\": \\[([^\\]]*)\\]");
    listed.erase(std::remove(listed.begin(), listed.end(), '"'), listed.end());
    listed = std::regex_replace(listed, std::regex{", "}, ",");
    CHECK(parts_of(listed, ',') == spellings(b.base));
  }
}

TEST_CASE("the schema knows the quantities of the dictionary") {
  const std::string schema = test::bytes_of("config/schema/stages.schema.json");
  const auto listed = parts_of(match(schema, "\"pattern\": \"\\^\\(rate \\)\\?\\(([a-z |]*)\\)"), '|');
  std::set<std::string> known;
  for (const QuantityEntry& entry : quantity_entries) known.emplace(entry.name);
  CHECK(listed == known);
}

TEST_CASE("the schema knows the kinds of stage") {
  const std::string schema = test::bytes_of("config/schema/stages.schema.json");
  for (int i = 0; i < stage_kind_count; ++i) {
    const std::string word{stage_kind_word(static_cast<StageKind>(i))};
    CHECK(schema.find("\"" + word + "\"") != std::string::npos);
  }
}

TEST_CASE("the examples begin by naming their schema, for editors") {
  for (const char* name : {"rig.yaml", "stages.yaml", "stages-demo.yaml"}) {
    const std::string text = test::bytes_of(test::grain_store + name);
    const std::string kind = std::string{name} == "rig.yaml" ? "rig" : "stages";
    CHECK(text.starts_with("# yaml-language-server: $schema=../../schema/" + kind + ".schema.json\n"));
  }
}
