// Which rows share a commit: answers that nobody waits for, and what takes them along.
#include <catch2/catch.hpp>

#include <thread>

#include "daemon/record/record_writer.hpp"
#include "daemon/record/verify.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast;
using namespace standfast::record;
using namespace standfast::testing;

namespace {

// What only was read would wait for company as good as for ever.
class PatientSeam : public SmallSeam {
 public:
  Duration gathers_for() const override { return hours(1); }
};

Row scan_row(std::int64_t n) {
  return row_of({Instant{n}, {}, Scan{BlockId{}, Instant{n}, Words{static_cast<std::uint16_t>(n)}, Flaw::none}}, {1, 1, "test bench"});
}

}  // namespace

TEST_CASE("what only was read waits for company, and anything else takes it along at once") {
  const Folder folder;
  auto writer = open_writer(folder.record(), {}, std::make_shared<PatientSeam>());
  const auto durable = [&](std::optional<std::int64_t> seq) {
    REQUIRE(seq);
    while (writer->durable_seq() < *seq) std::this_thread::yield();
  };
  durable(writer->append(opening_rows()));
  for (int n = 1; n <= 5; ++n) REQUIRE(writer->append({scan_row(n)}));
  durable(writer->append({notice_row(1)}));
  for (int n = 6; n <= 8; ++n) REQUIRE(writer->append({scan_row(n)}));
  CHECK(writer->close());  // Which waits for nobody.
  const auto found = verify(folder.record());
  REQUIRE(found);
  CHECK(found->proved());
  CHECK(ask(folder.record(), "SELECT last_seq - first_seq + 1 FROM seal ORDER BY batch DESC LIMIT 2") == "3;6");
}
