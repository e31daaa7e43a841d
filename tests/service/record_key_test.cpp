#include "daemon/service/record_key.hpp"

#include <sys/stat.h>

#include <catch2/catch.hpp>

#include "daemon/record/seal.hpp"
#include "daemon/service/whole_file.hpp"
#include "tests/service/folder.hpp"

using namespace standfast;

namespace {

struct Station {
  Folder folder;
  std::string file = folder.path() + "/record.key";
  std::string why() const {
    const RecordKey key = record_key(folder.path());
    return key ? std::string{} : key.error();
  }
  bool refused_for(const std::string& words) const { return why().find(words) != std::string::npos; }
};

}  // namespace

TEST_CASE("the station's key is made at the first start, for its owner alone, and stays the same") {
  const Station station;
  ::umask(0);
  const RecordKey first = record_key(station.folder.path());
  ::umask(0027);
  REQUIRE(first);
  struct stat facts {};
  REQUIRE(::stat(station.file.c_str(), &facts) == 0);
  CHECK((facts.st_mode & 07777) == 0600);
  CHECK(facts.st_nlink == 1);
  CHECK(facts.st_size == 65);
  CHECK_FALSE(exists(station.file + ".partial"));
  const RecordKey second = record_key(station.folder.path());
  REQUIRE(second);
  CHECK((*second)->public_key() == (*first)->public_key());
}

TEST_CASE("a lost key is made anew and is another one") {
  const Station station;
  const RecordKey first = record_key(station.folder.path());
  REQUIRE(std::filesystem::remove(station.file));
  const RecordKey second = record_key(station.folder.path());
  REQUIRE((first && second));
  CHECK((*second)->public_key() != (*first)->public_key());
}

// RFC 8032, 7.1, TEST 1.
TEST_CASE("the file holds the seed as hex, so that a key can be brought over to a spare machine") {
  const Station station;
  REQUIRE(create_secret_file(station.file, "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n"));
  const RecordKey key = record_key(station.folder.path());
  REQUIRE(key);
  CHECK(record::hex_of((*key)->public_key()) == "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a");
}

TEST_CASE("a key that others may read, that is a link or no key is not used and not written over") {
  const Station station;
  SECTION("others may read it") {
    REQUIRE(record_key(station.folder.path()));
    REQUIRE(::chmod(station.file.c_str(), 0640) == 0);
    CHECK(station.refused_for("others may read"));
  }
  SECTION("a link") {
    std::filesystem::create_symlink("/nowhere", station.file);
    CHECK_FALSE(station.why().empty());
  }
  SECTION("a folder") {
    std::filesystem::create_directory(station.file);
    CHECK(station.refused_for("not a regular file"));
  }
  SECTION("cut short, of other letters, too long") {
    for (const std::string& text : {std::string(63, 'a') + "\n", std::string(64, 'g') + "\n", std::string(65, 'a') + "\n", std::string()}) {
      std::filesystem::remove(station.file);
      REQUIRE(create_secret_file(station.file, text));
      CHECK_FALSE(station.why().empty());
      CHECK(read_secret_file(station.file, 100).value() == text);
    }
  }
}

TEST_CASE("a secret is never written over another") {
  const Station station;
  REQUIRE(create_secret_file(station.file, "one"));
  CHECK_FALSE(create_secret_file(station.file, "two"));
  CHECK(read_secret_file(station.file, 10).value() == "one");
}

TEST_CASE("a station folder that is not there gives a reason and no key") {
  const Station station;
  CHECK_FALSE(record_key(station.folder.path() + "/none"));
}
