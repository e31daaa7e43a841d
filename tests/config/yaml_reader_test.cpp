// What yaml-cpp 0.7.0 does in silence, and we must not. Source of the list: measured on Debian 12's libyaml-cpp 0.7.0.
#include <catch2/catch.hpp>

#include "config/yaml_reader.hpp"

using namespace standfast;

namespace {

struct ReadOut {
  std::optional<YamlNode> root;
  Findings findings;
};

ReadOut read(std::string_view bytes) {
  Complaints complaints{"t.yaml"};
  auto root = read_yaml(bytes, complaints);
  return {std::move(root), complaints.take()};
}

const YamlNode& value_of(const ReadOut& out, std::size_t number) { return out.root->entries.at(number).value; }

}  // namespace

TEST_CASE("every scalar stays text, with its place and whether it stood in quotes") {
  const auto out = read("a: 010\nb: \"x\"\nc: yes\nd: .nan\n");
  REQUIRE(out.root);
  CHECK(out.findings.empty());
  CHECK(value_of(out, 0).text == "010");
  CHECK(!value_of(out, 0).quoted);
  CHECK(value_of(out, 1).text == "x");
  CHECK(value_of(out, 1).quoted);
  CHECK(value_of(out, 1).spot.length == 3);
  CHECK(value_of(out, 2).text == "yes");
  CHECK(value_of(out, 3).text == ".nan");
}

TEST_CASE("lines and columns count from 1, and columns count characters") {
  const auto out = read("# \xC3\xA4\xC3\xB6\n\xC3\xA4: [\"\xC3\xB6 \xE2\x82\xAC\", 5 mm]\n");
  REQUIRE(out.root);
  const YamlNode& list = value_of(out, 0);
  CHECK(list.spot.place.line == 2);
  CHECK(list.spot.place.column == 4);
  CHECK(list.items.at(0).spot.place.column == 5);
  CHECK(list.items.at(0).spot.length == 5);
  CHECK(list.items.at(1).spot.place.column == 12);
  CHECK(list.items.at(1).spot.length == 4);
}

TEST_CASE("of a key given twice the first stays, and the second is told") {
  const auto out = read("limit: 10 mm\nlimit: 99 mm\nother: 1\n");
  REQUIRE(out.root);
  CHECK(out.root->entries.size() == 2);
  REQUIRE(out.findings.size() == 1);
  CHECK(out.findings.front().code == "E-key-twice");
  CHECK(out.findings.front().line == 2);
  CHECK(out.findings.front().message.find("line 1") != std::string::npos);
}

TEST_CASE("all that is wrong with the text is told at once, where reading can go on") {
  const auto out = read("a: &x 1\nb: *x\nc: !!int 3\nd: |\n  text\n<<: {e: 1}\na: 2\n");
  REQUIRE(out.root);
  std::vector<std::string> codes;
  for (const Finding& f : out.findings) codes.push_back(f.code);
  CHECK(codes ==
        std::vector<std::string>{"E-anchor", "E-anchor", "E-tag", "E-block-text", "E-merge-key", "E-key-twice"});
}

TEST_CASE("an alias to itself is refused like any other") {
  const auto out = read("a: &a [*a]\n");
  REQUIRE(!out.findings.empty());
  CHECK(out.findings.front().code == "E-anchor");
}

TEST_CASE("nothing behind a key is told at the key") {
  const auto out = read("a:\nb: ~\nc: {d: , e: 1}\n");
  REQUIRE(out.root);
  CHECK(value_of(out, 0).kind == YamlNode::Kind::nothing);
  CHECK(value_of(out, 0).spot.place.line == 1);
  CHECK(value_of(out, 1).kind == YamlNode::Kind::nothing);
  CHECK(value_of(out, 2).entries.at(0).value.kind == YamlNode::Kind::nothing);
}

TEST_CASE("a quotation that never ends is not a value") {
  for (const char* text : {"a: \"x\n", "a: 'x\n", "a: 'x''\n", "a: \"x\\\"\n"}) {
    const auto out = read(text);
    INFO(text);
    CHECK(!out.root);
    REQUIRE(!out.findings.empty());
    CHECK(out.findings.front().code == "E-yaml");
  }
}

TEST_CASE("a deep file is refused before it costs anything") {
  const std::string open(200'000, '[');
  CHECK(!read(open + "\n").root);
  std::string lines;
  for (int i = 0; i < 250; ++i) lines += std::string(900, '[') + "\n";
  const auto out = read(lines);
  CHECK(!out.root);
  REQUIRE(!out.findings.empty());
  CHECK(out.findings.front().code == "E-too-deep");
}

TEST_CASE("thirty-two levels are read") {
  CHECK(read("a: " + std::string(31, '[') + std::string(31, ']') + "\n").root);
  CHECK(!read("a: " + std::string(32, '[') + std::string(32, ']') + "\n").root);
}
