#include "daemon/record/seal.hpp"

#include <catch2/catch.hpp>

#include "daemon/record/verify.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast::record;
using namespace standfast::testing;

// FIPS 180-4, examples of SHA-256: the empty message, "abc", 448 and 896 bits, one million "a".
TEST_CASE("SHA-256 gives the published digests") {
  CHECK(sha256_hex("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(sha256_hex("abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmn"
                   "hijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu") ==
        "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1");
  Sha256 million;
  for (int i = 0; i < 1000; ++i) million.add(std::string(1000, 'a'));
  CHECK(hex_of(million.finish()) == "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
  million.add("abc");  // It begins anew by itself.
  CHECK(hex_of(million.finish()) == sha256_hex("abc"));
}

TEST_CASE("the bytes that are sealed tell every kind of value apart") {
  const auto bytes = [](const Value& value) {
    std::string text;
    append_canonical(text, value);
    return text;
  };
  CHECK(bytes({}) == "n");
  CHECK(bytes(std::int64_t{-12}) == "i-12;");
  CHECK(bytes(0.1) == "r0.10000000000000001;");
  CHECK(bytes(1e300) == "r1.0000000000000001e+300;");
  CHECK(bytes(460000.0) == "r460000;");
  CHECK(bytes(std::string{"a;t1:"}) == "t5:a;t1:");
}

TEST_CASE("a head is shown as eight groups of four letters") {
  CHECK(head_text(std::string(32, '\xa5')) == "a5a5 a5a5 a5a5 a5a5 a5a5 a5a5 a5a5 a5a5");
}

namespace {

struct Sample {
  Folder folder;
  Sample() {
    write_sample(folder.record());
    REQUIRE(checked().proved());
  }
  Verification checked(const std::vector<NotedHead>& noted = {}) const {
    const auto found = verify(folder.record(), {noted, {}});
    if (!found) FAIL(found.error());
    return *found;
  }
  std::string head_of(int batch) const {
    return ask(folder.record(), "SELECT hex(head) FROM seal WHERE batch = " + std::to_string(batch));
  }
};

}  // namespace

TEST_CASE("an untouched record proves itself, row by row") {
  const Sample sample;
  const auto found = sample.checked();
  CHECK(std::to_string(found.batches) == ask(sample.folder.record(), "SELECT max(batch) FROM seal"));
  CHECK(std::to_string(found.rows) == ask(sample.folder.record(), "SELECT max(last_seq) FROM seal"));
  CHECK(hex_of(found.head) == ask(sample.folder.record(), "SELECT lower(hex(head)) FROM seal ORDER BY batch DESC LIMIT 1"));
}

// Columns that hold 0 or 1.
const std::string flags = " simulated first accepted given first_out passed inferred verified ";

TEST_CASE("any edit of any cell is found, and the first bad batch named") {
  const Sample sample;
  for (const TableEntry& entry : table_entries) {
    std::string_view rest = entry.columns.substr(4);
    while (!rest.empty()) {
      const std::string column{rest.substr(0, rest.find(' '))};
      rest.remove_prefix(std::min(rest.size(), column.size() + 1));
      const std::string table{entry.name};
      INFO(table << "." << column);
      const auto edited = sample.folder.path / (table + column);
      std::filesystem::copy_file(sample.folder.record(), edited);
      const std::string row = " WHERE seq = (SELECT max(seq) FROM " + table + ")";
      const std::string batch = ask(edited, "SELECT seal.batch FROM seal, " + table + " AS t WHERE t.seq = (SELECT max(seq) FROM " +
                                                table + ") AND t.seq BETWEEN first_seq AND last_seq");
      // The smallest change that the column's rules let through.
      const std::string kind = ask(edited, "SELECT typeof(" + column + ") FROM " + table + row);
      const std::string change = kind == "text"   ? column + " || ' '"
                                 : kind == "real" ? column + " + 1e-9"
                                 : kind == "null" ? "0"
                                 : flags.find(' ' + column + ' ') != std::string::npos
                                     ? "1 - " + column
                                     : column + " + 1";
      tamper(edited, "UPDATE " + table + " SET " + column + " = " + change + row);
      const auto found = verify(edited);
      REQUIRE(found);
      CHECK_FALSE(found->proved());
      CHECK(std::to_string(found->first_bad_batch.value_or(0)) == batch);
    }
  }
}

TEST_CASE("deletion, insertion and reorder of rows are found") {
  const Sample sample;
  const auto path = sample.folder.record();
  SECTION("a row deleted") {
    tamper(path, "DELETE FROM alarm");
    CHECK(sample.checked().why.find("is missing") != std::string::npos);
  }
  SECTION("a batch deleted with its seal") {
    tamper(path, "DELETE FROM action WHERE seq = (SELECT first_seq FROM seal WHERE batch = 8); DELETE FROM event WHERE seq = "
                 "(SELECT first_seq FROM seal WHERE batch = 8); DELETE FROM seal WHERE batch = 8");
    CHECK(sample.checked().why == "batch 8 is missing");
    CHECK(sample.checked().first_bad_batch == 8);
  }
  SECTION("a row put in at the end") {
    tamper(path, "INSERT INTO notice SELECT (SELECT max(last_seq) + 1 FROM seal), span, at_ns, wall_ns, code, text FROM notice");
    CHECK(sample.checked().why.find("stands behind the last seal") != std::string::npos);
  }
  SECTION("a second row under a seq that another table holds") {
    tamper(path, "INSERT INTO notice SELECT (SELECT seq FROM alarm), span, at_ns, wall_ns, code, text FROM notice");
    CHECK(sample.checked().why.find("stands twice") != std::string::npos);
  }
  SECTION("two rows of one table exchanged") {
    tamper(path, "UPDATE value SET seq = seq + 1000000 WHERE seq = (SELECT min(seq) FROM value); "
                 "UPDATE value SET seq = (SELECT min(seq) - 1 FROM value) WHERE seq = (SELECT min(seq) FROM value); "
                 "UPDATE value SET seq = (SELECT min(seq) + 1 FROM value) WHERE seq > 1000000");
    CHECK(sample.checked().why.find("have been changed") != std::string::npos);
  }
  SECTION("seals exchanged") {
    tamper(path, "UPDATE seal SET head = (SELECT head FROM seal AS other WHERE other.batch = 4) WHERE batch = 3");
    CHECK(sample.checked().first_bad_batch == 3);
  }
}

TEST_CASE("a cut-off end shows only against a noted head, and then it does") {
  const Sample sample;
  const auto path = sample.folder.record();
  const int last = std::stoi(ask(path, "SELECT max(batch) FROM seal"));
  const NotedHead noted{last, sample.head_of(last)};
  CHECK(sample.checked({noted}).proved());
  std::string cut;
  for (const TableEntry& entry : table_entries)
    cut += "DELETE FROM " + std::string{entry.name} + " WHERE seq >= (SELECT first_seq FROM seal WHERE batch = " +
           std::to_string(last) + "); ";
  tamper(path, cut + "DELETE FROM seal WHERE batch = " + std::to_string(last));
  CHECK(sample.checked().proved());
  CHECK(sample.checked({noted}).why.find("cut off") != std::string::npos);
  CHECK(sample.checked({noted}).first_bad_batch == last);
}

TEST_CASE("a record written anew from some row on, seals and all, shows against an older noted head") {
  const Sample sample, another;
  const int last = std::stoi(ask(sample.folder.record(), "SELECT max(batch) FROM seal"));
  CHECK(sample.checked({{last, "0123 4567 89ab"}}).why.find("written anew") != std::string::npos);
  CHECK(sample.checked({{last, "012"}}).why.find("prove nothing") != std::string::npos);
  CHECK(sample.checked({{1, sample.head_of(1).substr(0, 8)}}).proved());
}

TEST_CASE("a trigger taken away or a view bent shows") {
  const Sample sample;
  SECTION("trigger") { ask(sample.folder.record(), "DROP TRIGGER alarm_kept"); }
  SECTION("view") {
    ask(sample.folder.record(), "DROP VIEW gap_log; CREATE VIEW gap_log AS SELECT * FROM gap WHERE lost > 0");
  }
  CHECK(sample.checked().why == "a table, view or trigger is not the one that the record was made with");
}

TEST_CASE("what cannot be read is said so") {
  const Folder folder;
  CHECK_FALSE(verify(folder.record()));
}
