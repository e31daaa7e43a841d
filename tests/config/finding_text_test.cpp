// The form is that of compilers: GNU coding standards, "Formatting Error Messages": file:line:column: message, lower case,
// no full stop.
#include "config/finding_text.hpp"

#include <catch2/catch.hpp>

#include "config/finding_codes.hpp"

using namespace standfast;

namespace {

Finding decimal_comma() {
  Finding f;
  f.file = "stages.yaml";
  f.line = 2;
  f.column = 10;
  f.length = 8;
  f.code = "E-number";
  f.message = "'0,5 mm' is not a quantity (decimal comma)";
  f.expected = "number, space, unit of length, as in '0.5 mm'";
  return f;
}

}  // namespace

TEST_CASE("a finding names file, line, column and code, and points at the place") {
  CHECK(finding_text(decimal_comma(), "a: 1\n  above: '0,5 mm'\n") ==
        "stages.yaml:2:10: error: '0,5 mm' is not a quantity (decimal comma) [E-number]\n"
        "    2 |   above: '0,5 mm'\n"
        "      |          ^~~~~~~~\n"
        "   expected: number, space, unit of length, as in '0.5 mm'\n");
}

TEST_CASE("the nearest known word stands behind what was expected") {
  Finding f = decimal_comma();
  f.nearest = "mm";
  CHECK(finding_text(f, "").find("   nearest: 'mm'\n") != std::string::npos);
}

TEST_CASE("the caret counts characters, not bytes") {
  Finding f = decimal_comma();
  f.line = 1;
  f.column = 4;
  f.length = 1;
  const std::string text = finding_text(f, "\xC3\xA4\xE2\x82\xAC: x\n");
  CHECK(text.find("\n      |    ^\n") != std::string::npos);
}

TEST_CASE("of a long line the part around the caret is shown") {
  Finding f = decimal_comma();
  f.line = 1;
  f.column = 501;
  f.length = 400;
  const std::string text = finding_text(f, std::string(500, 'a') + "X" + std::string(500, 'b') + "\n");
  CHECK(text.find("aX") != std::string::npos);
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find('\n', at);
    CHECK(end - at <= 130);
    at = end + 1;
  }
}

TEST_CASE("what cannot be printed is shown as a question mark") {
  Finding f = decimal_comma();
  f.line = 1;
  f.column = 1;
  const std::string text = finding_text(f, std::string{"a\x1B[31m\xFF\0z\n", 10});
  CHECK(text.find("a?[31m??z") != std::string::npos);
}

TEST_CASE("the last line counts and says what became of the file") {
  Finding warning = decimal_comma();
  warning.severity = Severity::warning;
  const std::vector<Finding> findings{decimal_comma(), decimal_comma(), warning};
  const std::string text = findings_text(findings, "", "stages.yaml", "nothing was loaded");
  const std::string last = "stages.yaml: 2 errors, 1 warning; nothing was loaded\n";
  REQUIRE(text.size() > last.size());
  CHECK(text.substr(text.size() - last.size()) == last);
  CHECK(findings_text({}, "", "rig.yaml", "loaded") == "rig.yaml: nothing to complain about; loaded\n");
}

TEST_CASE("each code of the table is unique, means something and has an example") {
  const auto codes = finding_codes();
  for (std::size_t i = 0; i < codes.size(); ++i) {
    INFO(codes[i].code);
    CHECK(codes[i].meaning.size() > 10);
    CHECK(!codes[i].example.empty());
    CHECK((codes[i].code.starts_with("E-") || codes[i].code.starts_with("W-")));
    CHECK(find_code(codes[i].code) == &codes[i]);
  }
  CHECK(find_code("E-nothing") == nullptr);
}
