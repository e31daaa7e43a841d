// Not tests: the records that the Python tests beside this file read. The folder comes by the environment.
#include <cstdlib>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/record/export_csv.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast;
using namespace standfast::record;
using namespace standfast::testing;

namespace {

std::filesystem::path target() {
  const char* path = std::getenv("RECORD");
  REQUIRE(path != nullptr);
  return path;
}

}  // namespace

TEST_CASE("write a record of every kind of row", "[.][sample]") { write_sample(target()); }

TEST_CASE("write a record of odd raw numbers", "[.][numbers]") {
  const auto writer = open_writer(target());
  REQUIRE(writer->append(opening_rows()));
  std::mt19937_64 draw{4711};
  const auto job = sample_job();
  for (int scan = 0; scan < 300; ++scan) {
    Words words(static_cast<std::size_t>(job->polls.blocks[0].count));
    // All bits, few bits, the same word everywhere: among floats these are infinite, none, tiny, huge and nought.
    const auto same = scan % 7 == 0 ? 0x7ff0 : scan % 7 == 1 ? 0xff80 : draw();
    for (auto& word : words)
      word = static_cast<std::uint16_t>(scan % 3 == 0 ? draw() : scan % 3 == 1 ? draw() & draw() & draw() : same);
    REQUIRE(writer->append({row_of(at(scan, Scan{BlockId{std::size_t{0}}, Instant{scan}, words, Flaw::none}), {1, 1, ""})}));
  }
  REQUIRE(writer->append({row_of(at(300, Scan{BlockId{std::size_t{0}}, Instant{300}, Words{}, Flaw::no_answer}), {1, 1, ""})}));
  REQUIRE(writer->close());
}

TEST_CASE("export the record beside as CSV", "[.][csv]") {
  const auto done = export_csv(target(), target().parent_path() / "csv", {});
  if (!done) FAIL(done.error());
}
