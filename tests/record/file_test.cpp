// What an opening refuses, and that it leaves everything as it was.
#include "daemon/record/record_file.hpp"

#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/record/record_reader.hpp"
#include "daemon/record/schema.hpp"
#include "daemon/record/seal.hpp"
#include "daemon/record/verify.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast::record;
using namespace standfast::testing;

namespace {

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream file{path, std::ios::binary};
  return {std::istreambuf_iterator<char>{file}, {}};
}

OpenRefusal refusal(const std::filesystem::path& path) {
  auto writer = RecordWriter::open(path, standfast::testing::about, {}, std::make_shared<SmallSeam>());
  REQUIRE_FALSE(writer);
  return writer.error();
}

void overwrite(const std::filesystem::path& path, std::streamoff at, const std::string& bytes) {
  std::fstream file{path, std::ios::binary | std::ios::in | std::ios::out};
  file.seekp(at);
  file << bytes;
}

}  // namespace

TEST_CASE("a new record is there whole, with its first row and seal, and nothing else lies beside it") {
  const Folder folder;
  auto writer = open_writer(folder.record());
  CHECK(writer->opened_at().seq == 1);
  CHECK(writer->opened_at().batch == 1);
  CHECK(writer->opened_at().span == 0);
  CHECK(writer->close());
  writer.reset();
  std::vector<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator{folder.path}) names.push_back(entry.path().filename());
  CHECK(names == std::vector<std::string>{"record.db"});
}

TEST_CASE("what is left of an attempt that did not end is no hindrance") {
  const Folder folder;
  std::ofstream{folder.path / "record.db.partial"} << "half";
  std::ofstream{folder.path / "record.db.partial-journal"} << "half";
  CHECK(open_writer(folder.record())->close());
}

TEST_CASE("another program's file is refused and not written to") {
  const Folder folder;
  ask(folder.path / "other.db", "PRAGMA application_id = 5; CREATE TABLE t (a)");
  const std::string before = bytes_of(folder.path / "other.db");
  CHECK(refusal(folder.path / "other.db").kind == RefusalKind::foreign);
  CHECK(bytes_of(folder.path / "other.db") == before);
  CHECK_FALSE(std::filesystem::exists(folder.path / "other.db-wal"));
}

TEST_CASE("a record of another version, older or newer, is refused by name and not written to, and nobody reads it as his own") {
  for (const int version : {schema_version - 1, schema_version + 1}) {
    const Folder folder;
    write_sample(folder.record());
    ask(folder.record(), "PRAGMA user_version = " + std::to_string(version) + "; PRAGMA wal_checkpoint(TRUNCATE)");
    const std::string before = bytes_of(folder.record());
    const OpenRefusal refused = refusal(folder.record());
    CHECK(refused.kind == RefusalKind::other_version);
    const std::string said = "another version of this program: its layout is " + std::to_string(version);
    CHECK(refused.text.find(said) != std::string::npos);
    const auto reader = RecordReader::open(folder.record());
    REQUIRE_FALSE(reader);
    CHECK(reader.error().find(said) != std::string::npos);
    const auto verified = verify(folder.record(), {});
    REQUIRE_FALSE(verified);
    CHECK(verified.error().find(said) != std::string::npos);
    CHECK(bytes_of(folder.record()) == before);
  }
}

TEST_CASE("a symbolic link, a second name and a directory are refused") {
  const Folder folder;
  write_sample(folder.record());
  std::filesystem::create_symlink(folder.record(), folder.path / "link.db");
  CHECK(refusal(folder.path / "link.db").text == "link.db is a symbolic link");
  CHECK(refusal(folder.path / "link.db").kind == RefusalKind::foreign);
  std::filesystem::create_hard_link(folder.record(), folder.path / "twin.db");
  CHECK(refusal(folder.path / "twin.db").kind == RefusalKind::foreign);
  CHECK(refusal(folder.record()).kind == RefusalKind::foreign);
  std::filesystem::create_directory(folder.path / "dir.db");
  CHECK(refusal(folder.path / "dir.db").text == "dir.db is not a file");
}

TEST_CASE("a folder that is reached by a symbolic link is no hindrance") {
  const Folder folder;
  std::filesystem::create_directory(folder.path / "job");
  std::filesystem::create_directory_symlink(folder.path / "job", folder.path / "today");
  CHECK(open_writer(folder.path / "today" / "record.db")->close());
}

TEST_CASE("a folder that is not there, and a file or folder that may not be written, are refused with the reason") {
  const Folder folder;
  write_sample(folder.record());
  CHECK(refusal(folder.path / "nowhere" / "record.db").kind == RefusalKind::not_writable);
  const auto as_nobody = [&] {  // The mightiest user may write anything.
    const pid_t child = ::fork();
    if (child == 0) {
      if (::geteuid() == 0 && ::setuid(65534) != 0) ::_exit(3);
      const auto found = look_at(folder.record());
      ::_exit(!found && found.error().kind == RefusalKind::not_writable ? 0 : 1);
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  };
  ::chmod(folder.record().c_str(), 0444);
  ::chmod(folder.path.c_str(), 0777);
  CHECK(as_nobody() == 0);
  ::chmod(folder.record().c_str(), 0666);
  ::chmod(folder.path.c_str(), 0555);
  CHECK(as_nobody() == 0);
  ::chmod(folder.path.c_str(), 0700);
}

TEST_CASE("an empty file, a torn header, a corrupt page and a log without its file are not trusted, and stay as they are") {
  const Folder folder;
  write_sample(folder.record());
  SECTION("empty") { std::filesystem::resize_file(folder.record(), 0); }
  SECTION("shorter than its header") { std::filesystem::resize_file(folder.record(), 50); }
  SECTION("no header") { overwrite(folder.record(), 0, "nonsense"); }
  SECTION("cut in the middle") {
    std::filesystem::resize_file(folder.record(), std::filesystem::file_size(folder.record()) / 2 / 4096 * 4096);
  }
  SECTION("a page of nonsense") { overwrite(folder.record(), 8 * 4096, std::string(4096, '\x5a')); }
  const std::string before = bytes_of(folder.record());
  const auto found = refusal(folder.record());
  INFO(found.text);
  CHECK(found.kind == RefusalKind::not_trusted);
  CHECK(bytes_of(folder.record()) == before);
}

TEST_CASE("a write-ahead log whose file is gone is not trusted") {
  const Folder folder;
  std::ofstream{folder.path / "record.db-wal"} << "log";
  CHECK(refusal(folder.record()).kind == RefusalKind::not_trusted);
  CHECK_FALSE(std::filesystem::exists(folder.record()));
}

TEST_CASE("the log of another day beside the file is not trusted") {
  const Folder folder;
  {
    const auto writer = open_writer(folder.record());
    REQUIRE(writer->append(opening_rows()));
    for (int i = 1; i <= 200; ++i) REQUIRE(writer->append({notice_row(i)}));
    while (writer->durable_seq() < 240) ::usleep(1000);
    std::filesystem::copy_file(folder.record().string() + "-wal", folder.path / "old-wal");
    REQUIRE(writer->close());
  }
  {
    const auto writer = open_writer(folder.record());
    for (int i = 201; i <= 2000; ++i) REQUIRE(writer->append({notice_row(i)}));
    REQUIRE(writer->close());
  }
  std::filesystem::copy_file(folder.path / "old-wal", folder.record().string() + "-wal");
  const std::string before = bytes_of(folder.record());
  CHECK(refusal(folder.record()).kind == RefusalKind::not_trusted);
  CHECK(bytes_of(folder.record()) == before);
}

TEST_CASE("a record whose newest rows were touched is not trusted") {
  const Folder folder;
  write_sample(folder.record());
  tamper(folder.record(), "UPDATE alarm SET say = 'Go on.'");
  CHECK(refusal(folder.record()).kind == RefusalKind::not_trusted);
}

TEST_CASE("a record that is not trusted is set aside whole, under a name that is free, with its SHA-256") {
  const Folder folder;
  write_sample(folder.record());
  const std::string bytes = bytes_of(folder.record());
  std::ofstream{folder.path / "record.db.set-aside-1-wal"} << "the log of an older one";
  std::ofstream{folder.path / "record.db-wal"} << "its log";
  const auto aside = set_aside(folder.record());
  REQUIRE(aside);
  CHECK(aside->path.filename() == "record.db.set-aside-2");
  CHECK(aside->sha256 == sha256_hex(bytes));
  CHECK(bytes_of(aside->path) == bytes);
  CHECK(bytes_of(aside->path.string() + "-wal") == "its log");
  CHECK(aside->log_sha256 == sha256_hex("its log"));
  CHECK_FALSE(std::filesystem::exists(folder.record()));
  CHECK(open_writer(folder.record())->close());
}
