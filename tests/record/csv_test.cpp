#include "daemon/record/csv.hpp"

#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>

#include "daemon/record/export_csv.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast;
using namespace standfast::record;
using namespace standfast::testing;

namespace {

std::string line_of(const std::vector<std::string>& cells) {
  CsvLine line;
  for (const auto& cell : cells) line.text(cell);
  line.end();
  return line.bytes();
}

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream file{path, std::ios::binary};
  return {std::istreambuf_iterator<char>{file}, {}};
}

}  // namespace

// RFC 4180, section 2, rule by rule; what the RFC leaves open is decided in csv.hpp.
TEST_CASE("fields and lines are written as RFC 4180 says") {
  CHECK(line_of({"aaa", "bbb", "ccc"}) == "aaa,bbb,ccc\r\n");                      // Rules 1 and 4.
  CHECK(line_of({"aaa", "b\r\nbb", "ccc"}) == "aaa,\"b\r\nbb\",ccc\r\n");          // Rule 6.
  CHECK(line_of({"aaa", "b\"bb", "ccc"}) == "aaa,\"b\"\"bb\",ccc\r\n");            // Rule 7.
  CHECK(line_of({"a", " b ", "c"}) == "a, b ,c\r\n");                              // Rule 4: spaces belong to the field.
  CHECK(line_of({"a", "", "c"}) == "a,,c\r\n");
  CHECK(line_of({"a", "b", ""}) == "a,b,\r\n");
  CHECK(line_of({"a\"b", "c"}) == "\"a\"\"b\",c\r\n");                             // Rule 5: never a bare quote.
  CHECK(line_of({"a\nb", "c,d"}) == "\"a\nb\",\"c,d\"\r\n");
}

TEST_CASE("text that a spreadsheet would run is guarded, a negative number is not") {
  CHECK(line_of({"=1", "+1", "-1", "@x", "\tx", "1-2"}) == "'=1,'+1,'-1,'@x,'\tx,1-2\r\n");
  CHECK(line_of({"=a,b"}) == "\"'=a,b\"\r\n");
  CsvLine line;
  line.number(-0.3);
  line.number(std::int64_t{-12});
  line.number(1e21);
  line.empty();
  line.end();
  CHECK(line.bytes() == "-0.3,-12,1e+21,\r\n");
}

TEST_CASE("a number of fixed point has its digits and no more, and nought has no sign") {
  CsvLine line;
  line.number(101.71234549999999, 6);
  line.number(-0.3, 6);
  line.number(-1e-9, 6);
  line.number(1e300, 0);
  line.end();
  CHECK(line.bytes().starts_with("101.712345,-0.300000,0.000000,1000"));
}

// RFC 3339; the local time has its own offset because Z says nothing about it.
TEST_CASE("a time stands in UTC, in local time with its offset, and in seconds since boot") {
  ::setenv("TZ", "Asia/Kathmandu", 1);
  ::tzset();
  CsvLine line;
  line.time(WallTime{1'700'000'000'123'999'999}, Instant{1'500'000'000});
  line.end();
  CHECK(line.bytes() == "2023-11-14T22:13:20.123Z,2023-11-15T03:58:20.123+05:45,1.5\r\n");
  ::unsetenv("TZ");
  ::tzset();
  CsvLine before;
  before.time(WallTime{-1}, Instant{});
  CHECK(before.bytes().substr(0, 24) == "1969-12-31T23:59:59.999Z");
}

TEST_CASE("a file is there under its name only when it is whole") {
  const Folder folder;
  {
    const auto file = CsvFile::create(folder.path / "a.csv");
    REQUIRE(file);
    file->line.text("half");
    CHECK(std::filesystem::exists(folder.path / "a.csv.partial"));
  }
  CHECK(std::filesystem::is_empty(folder.path));
  const auto file = CsvFile::create(folder.path / "a.csv");
  file->line.text("whole");
  file->end_line();
  CHECK(file->finish());
  CHECK(bytes_of(folder.path / "a.csv") == "whole\r\n");
  CHECK_FALSE(CsvFile::create(folder.path / "nowhere" / "a.csv"));
}

TEST_CASE("an export holds what lies in its time range and nothing else") {
  const Folder folder;
  write_sample(folder.record());
  const WallTime from{1'700'000'000'000'000'350}, until{1'700'000'000'000'000'450};
  const auto files = export_csv(folder.record(), folder.path / "csv", {from, until});
  if (!files) FAIL(files.error());
  REQUIRE(files->size() == 6);
  for (const auto& file : *files) CHECK(file.lines == (file.path.filename() == "readings.csv" ? 32 : 0));
}

TEST_CASE("what a person read and entered stands among the readings, and what was refused does not") {
  for (const bool accepted : {true, false}) {
    const Folder folder;
    write_sample(folder.record());
    tamper(folder.record(), "UPDATE action SET act = 'enter_reading', object = 'LEVEL', value = '-2.1 mm, again -2.1 mm'; "
                            "UPDATE answer SET accepted = " + std::to_string(int{accepted}));
    const auto files = export_csv(folder.record(), folder.path / "csv", {});
    if (!files) FAIL(files.error());
    const std::string readings = bytes_of(folder.path / "csv" / "readings.csv");
    CHECK((readings.find(",LEVEL,by_hand,,\"'-2.1 mm, again -2.1 mm\",none,by hand,A. Hale\r\n") != std::string::npos) == accepted);
  }
}

TEST_CASE("an export that cannot be made says so and leaves nothing behind") {
  const Folder folder;
  CHECK_FALSE(export_csv(folder.record(), folder.path / "csv", {}));
  write_sample(folder.record());
  std::ofstream{folder.path / "csv"} << "a file in the way";
  CHECK_FALSE(export_csv(folder.record(), folder.path / "csv", {}));
}
