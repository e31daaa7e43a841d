#include "daemon/record/checkpoint.hpp"

#include <thread>

#include <catch2/catch.hpp>

#include "daemon/record/record_reader.hpp"
#include "daemon/record/seal.hpp"
#include "daemon/record/verify.hpp"
#include "tests/record/fixture.hpp"
#include "tests/support/bad_disk.hpp"

using namespace standfast;
using namespace standfast::record;
using namespace standfast::testing;

namespace {

constexpr std::int64_t second_ns = 1'000'000'000;

Row notice_at(std::int64_t at_s) { return notice_row(at_s * second_ns); }

class DiskSeam : public SmallSeam {
 public:
  const char* vfs() const override { return BadDisk::name; }
};

// Writes group after group, each in a batch of its own.
class Site {
 public:
  explicit Site(std::shared_ptr<const Signer> signer = sample_signer(),
                std::shared_ptr<WriterSeam> seam = std::make_shared<SmallSeam>()) {
    reopen(std::move(signer), std::move(seam));
    append(opening_rows());
  }
  void reopen(std::shared_ptr<const Signer> signer, std::shared_ptr<WriterSeam> seam = std::make_shared<SmallSeam>()) {
    if (writer) CHECK(writer->close());
    writer.reset();
    writer = open_writer(folder.record(), {}, std::move(seam), std::move(signer));
  }
  void append(std::vector<Row> rows) {
    const auto seq = writer->append(std::move(rows));
    REQUIRE(seq);
    while (writer->durable_seq() < *seq) std::this_thread::yield();
  }
  std::string asked(const std::string& sql) const { return ask(folder.record(), sql); }
  Verification checked(const Noted& noted = {}) const {
    const auto found = verify(folder.record(), noted);
    if (!found) FAIL(found.error());
    return *found;
  }
  std::string key() const { return hex_of(sample_signer()->public_key()); }

  Folder folder;
  std::unique_ptr<RecordWriter> writer;
};

}  // namespace

// RFC 8032, 7.1: TEST 1 and TEST 3.
TEST_CASE("Ed25519 signs as published") {
  const Signer first{from_hex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")};
  CHECK(hex_of(first.public_key()) == "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a");
  CHECK(hex_of(first.sign("")) ==
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b");
  const Signer third{from_hex("c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7")};
  const std::string signature = third.sign("\xaf\x82");
  CHECK(hex_of(third.public_key()) == "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025");
  CHECK(hex_of(signature) ==
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a");
  CHECK(is_genuine({third.public_key(), "\xaf\x82", signature}));
  CHECK_FALSE(is_genuine({third.public_key(), "\xaf\x83", signature}));
  CHECK_FALSE(is_genuine({first.public_key(), "\xaf\x82", signature}));
  CHECK_FALSE(is_genuine({third.public_key(), "\xaf\x82", signature.substr(1)}));
}

TEST_CASE("two new keys are two") { CHECK(new_seed() != new_seed()); }

TEST_CASE("what is signed is what the half page on the seal says") {
  CHECK(signed_bytes({12, std::string(32, '\xa5')}) == "t20:standfast checkpointi12;" + std::string(32, '\xa5'));
}

TEST_CASE("hex is read as it is written, and nothing else is") {
  CHECK(from_hex(hex_of("\x01\xaf")) == "\x01\xaf");
  for (const char* wrong : {"0", "0g", "AF", "0 1"}) CHECK(from_hex(wrong).empty());
}

TEST_CASE("a checkpoint is written at most once a minute, by the instants of the rows, and signs the batch before its own") {
  Site site;
  for (const std::int64_t at : {1, 30, 60, 61, 62, 130, 189, 190}) site.append({notice_at(at)});
  CHECK(site.asked("SELECT group_concat(at_ns / 1000000000) FROM checkpoint") == "1,61,130,190");
  CHECK(site.asked("SELECT count(*) FROM checkpoint AS c, seal AS own, seal AS before WHERE c.seq BETWEEN own.first_seq AND "
                   "own.last_seq AND before.batch = own.batch - 1 AND c.batch = before.batch AND c.head = lower(hex(before.head))") ==
        "4");
  CHECK(site.asked("SELECT DISTINCT public_key FROM checkpoint") == site.key());
  CHECK(hex_of(site.writer->public_key()) == site.key());
}

TEST_CASE("a checkpoint takes the place in front of the rows it comes with, and they keep theirs") {
  Site site;
  const std::int64_t before = site.writer->durable_seq();
  CHECK(site.writer->append({notice_at(1), notice_at(2)}) == before + 3);
  CHECK(site.writer->append({}) == before + 3);
  CHECK(site.writer->append({notice_at(3)}) == before + 4);
  CHECK(site.writer->close());
  CHECK(site.asked("SELECT seq FROM checkpoint") == std::to_string(before + 1) + ";" + std::to_string(before + 5));
}

TEST_CASE("a clean end signs everything before it, once") {
  Site site;
  site.append({notice_at(1)});
  CHECK(site.writer->close());
  const std::string last = site.asked("SELECT max(last_seq) FROM seal");
  CHECK(site.asked("SELECT max(seq), count(*) FROM checkpoint") == last + "|2");
  CHECK(site.checked().signed_batches == site.checked().batches - 1);
  site.reopen(sample_signer());  // Nothing was written meanwhile: nothing is new.
  CHECK(site.writer->close());
  CHECK(site.asked("SELECT max(last_seq) FROM seal") == last);
}

TEST_CASE("rows without an instant wait for a checkpoint until one with an instant comes") {
  const Folder folder;
  const auto writer = open_writer(folder.record(), {}, std::make_shared<SmallSeam>(), sample_signer());
  REQUIRE(writer->append_about(standfast::testing::about));  // No start is in the record yet.
  CHECK(writer->close());
  CHECK(ask(folder.record(), "SELECT count(*) FROM checkpoint") == "0");
}

TEST_CASE("without a key nothing is signed and everything is written") {
  Site site{nullptr};
  site.append({notice_at(1)});
  CHECK(site.writer->public_key().empty());
  CHECK(site.writer->close());
  CHECK(site.asked("SELECT count(*) FROM checkpoint") == "0");
  CHECK(site.checked().proved());
  CHECK(site.checked().signed_batches == 0);
  CHECK(site.checked({{}, {site.key()}}).why == "no checkpoint by the noted key");
}

TEST_CASE("a row changed and every seal computed again is found by the checkpoint behind it") {
  Site site;
  site.append({notice_at(1)});
  site.append({notice_at(2)});
  CHECK(site.writer->close());
  REQUIRE(site.checked({{}, {site.key()}}).proved());
  tamper(site.folder.record(), "UPDATE notice SET text = 'nothing happened' WHERE at_ns = 2000000000");
  CHECK(site.checked().why.find("have been changed") != std::string::npos);
  seal_again(site.folder.record());
  const auto found = site.checked();
  CHECK(found.why.find("signs another head") != std::string::npos);
  CHECK(found.first_bad_batch == 5);  // 1 about, 2 opening, 3 and 4 the notices, 5 the end: the first seal that was signed.
  SECTION("with the head in the checkpoint changed too") {
    tamper(site.folder.record(), "UPDATE checkpoint SET head = (SELECT lower(hex(head)) FROM seal WHERE batch = 4) WHERE batch = 4");
    seal_again(site.folder.record());
    CHECK(site.checked().why.find("not genuine") != std::string::npos);
    CHECK(site.checked().first_bad_batch == 5);
  }
  SECTION("with a key of one's own it is found by whoever noted the station's") {
    const Signer foreign{std::string(seed_bytes, 'f')};
    const std::string head = from_hex(site.asked("SELECT lower(hex(head)) FROM seal WHERE batch = 4"));
    tamper(site.folder.record(), "UPDATE checkpoint SET head = '" + hex_of(head) + "', public_key = '" + hex_of(foreign.public_key()) +
                                     "', signature = '" + hex_of(foreign.sign(signed_bytes({4, head}))) + "' WHERE batch = 4");
    seal_again(site.folder.record());
    CHECK(site.checked().proved());
    CHECK(site.checked().keys == std::vector<std::string>{site.key(), hex_of(foreign.public_key())});
    CHECK(site.checked({{}, {site.key()}}).why.find("by another key") != std::string::npos);
    CHECK(site.checked({{}, {site.key()}}).first_bad_batch == 5);
  }
}

TEST_CASE("a record cut off behind a checkpoint is found by whoever noted what it signs") {
  Site site;
  site.append({notice_at(1)});
  site.append({notice_at(100)});
  CHECK(site.writer->close());
  const std::string noted = site.asked("SELECT batch FROM checkpoint ORDER BY seq DESC LIMIT 1");
  const NotedHead head{std::stoi(noted), site.asked("SELECT head FROM checkpoint ORDER BY seq DESC LIMIT 1")};
  REQUIRE(site.checked({{head}, {}}).proved());
  const std::string from = " WHERE seq >= (SELECT first_seq FROM seal WHERE batch = " + noted + "); ";
  tamper(site.folder.record(), "DELETE FROM notice" + from + "DELETE FROM checkpoint" + from + "DELETE FROM seal WHERE batch >= " + noted);
  CHECK(site.checked().proved());
  CHECK(site.checked({{head}, {site.key()}}).why.find("cut off") != std::string::npos);
}

TEST_CASE("another key than before goes on, and stands in the rows") {
  Site site;
  site.append({notice_at(1)});
  const auto other = std::make_shared<const Signer>(std::string(seed_bytes, 'o'));
  site.reopen(other);
  site.append({notice_at(2)});
  CHECK(site.writer->close());
  const std::string second = hex_of(other->public_key());
  CHECK(site.checked().keys == std::vector<std::string>{site.key(), second});
  CHECK(site.checked({{}, {site.key(), second}}).proved());
  CHECK_FALSE(site.checked({{}, {second}}).proved());
  CHECK(site.checked({{}, {site.key().substr(0, 31), second}}).why.find("proves nothing") != std::string::npos);
}

TEST_CASE("a key may be noted in capitals, with blanks, and by its first half") {
  Site site;
  CHECK(site.writer->close());
  std::string letters = head_text(sample_signer()->public_key());
  for (char& c : letters)
    if (c >= 'a') c = static_cast<char>(c - 'a' + 'A');
  CHECK(site.checked({{}, {letters}}).proved());
}

TEST_CASE("a record whose checkpoint is not genuine is not written on") {
  Site site;
  CHECK(site.writer->close());
  tamper(site.folder.record(), "UPDATE checkpoint SET signature = '00' || substr(signature, 3)");
  seal_again(site.folder.record());
  const auto opened = RecordWriter::open(site.folder.record(), standfast::testing::about, {}, std::make_shared<SmallSeam>());
  REQUIRE_FALSE(opened);
  CHECK(opened.error().kind == RefusalKind::not_trusted);
}

TEST_CASE("a checkpoint is neither event nor effect: with it and without, replay reads the same") {
  const Folder folder;
  write_sample(folder.record());
  REQUIRE(ask(folder.record(), "SELECT count(*) FROM checkpoint") == "2");
  auto reader = RecordReader::open(folder.record());
  REQUIRE(reader);
  const auto events = reader->events(1);
  REQUIRE(events);
  CHECK(events->size() == sample_events().size());
  const auto effects = reader->effects(1, INT64_MAX);
  REQUIRE(effects);
  CHECK(effects->size() == sample_effects().size());
}

TEST_CASE("a disk that fails while a checkpoint is due loses nothing and breaks no signature") {
  for (const DiskFault fault : {DiskFault::write_fails, DiskFault::short_write, DiskFault::sync_fails, DiskFault::full})
    for (std::int64_t call = 1; call <= 6; ++call) {
      INFO("fault " << static_cast<int>(fault) << " at call " << call);
      BadDisk disk;
      Site site{sample_signer(), std::make_shared<DiskSeam>()};
      site.append({notice_at(1)});
      disk.fail_at(disk.calls() + call, fault);
      site.append({notice_at(100)});
      site.append({notice_at(101)});
      disk.mend();
      CHECK(site.writer->close());
      site.writer.reset();
      CHECK(site.checked({{}, {site.key()}}).why.empty());
      CHECK(site.checked().signed_batches == site.checked().batches - 1);
      CHECK(site.asked("SELECT group_concat(at_ns / 1000000000) FROM notice") == "1,100,101");
      CHECK(site.asked("SELECT group_concat(at_ns / 1000000000) FROM checkpoint") == "1,100,101");
    }
}
