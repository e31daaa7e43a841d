#include <sys/stat.h>

#include <catch2/catch.hpp>

#include "daemon/service/act_request.hpp"
#include "daemon/service/people.hpp"
#include "daemon/service/whole_file.hpp"
#include "tests/service/folder.hpp"

using namespace standfast;

namespace {

People added(People people, const std::string& name, Role role) {
  auto changed = with_added(std::move(people), {name, role, "2027-03-01T07:00:00.000Z", "owner of the machine"});
  REQUIRE(changed);
  return *changed;
}

People crew() {
  return added(added(added({}, "E. Quill", Role::engineer), "S. Vane", Role::supervisor), "T. Marsh", Role::technician);
}

Request post(const std::string& body) { return {"POST", "/v1/act", "application/json", body, 1000}; }

}  // namespace

TEST_CASE("a station without a list has nobody on it") {
  const Folder folder;
  const auto people = read_people(folder.path());
  REQUIRE(people);
  CHECK(people->list.empty());
}

TEST_CASE("the list of people comes back from its file as it was written") {
  const Folder folder;
  People people = added(crew(), "S. Vane", Role::technician);
  REQUIRE(write_people(folder.path(), people));
  const auto back = read_people(folder.path());
  REQUIRE(back);
  REQUIRE(back->list.size() == 3);
  CHECK(back->list[1].name == "S. Vane");
  CHECK(back->list[1].roles == std::vector{Role::supervisor, Role::technician});
}

TEST_CASE("a list written by somebody whose files are his own is read by a daemon of another user") {
  const Folder folder;
  const mode_t before = ::umask(077);
  const auto written = write_people(folder.path(), crew());
  ::umask(before);
  REQUIRE(written);
  struct stat facts {};
  REQUIRE(::stat(people_path(folder.path()).c_str(), &facts) == 0);
  CHECK((facts.st_mode & 0777) == 0644);
}

TEST_CASE("a list that is no list is refused and named") {
  const Folder folder;
  for (const char* text : {"", "{", "[]", R"({"people":[{"name":"A"}]})",
                           R"({"people":[{"name":"","roles":["engineer"],"since":"","ended":"","added_by":""}]})",
                           R"({"people":[{"name":"A","roles":["king"],"since":"","ended":"","added_by":""}]})"}) {
    REQUIRE(replace_file(people_path(folder.path()), text));
    const auto people = read_people(folder.path());
    REQUIRE_FALSE(people);
    CHECK(people.error().find("people.json") != std::string::npos);
  }
}

TEST_CASE("somebody with several roles acts in the one that may do most") {
  const auto known = claim(added(crew(), "T. Marsh", Role::supervisor), "T. Marsh");
  REQUIRE(known);
  CHECK(known->role == Role::supervisor);
}

TEST_CASE("somebody who has left the site may not be named") {
  const auto ended = with_ended(crew(), "S. Vane", "2027-03-02T07:00:00.000Z");
  REQUIRE(ended);
  CHECK_FALSE(claim(*ended, "S. Vane"));
  CHECK(ended->list.size() == 3);
  CHECK_FALSE(with_ended(*ended, "S. Vane", "2027-03-03T07:00:00.000Z"));
}

TEST_CASE("an unknown name is answered with the nearest known one") {
  const auto unknown = claim(crew(), "E. Quil");
  REQUIRE_FALSE(unknown);
  CHECK(unknown.error().find("E. Quill") != std::string::npos);
}

TEST_CASE("a name is a name: not empty, not long, no control characters") {
  for (const std::string& name :
       {std::string(), std::string("-x"), std::string("a\nb"), std::string(61, 'a'), std::string(" a")})
    CHECK_FALSE(with_added({}, {name, Role::engineer, "", ""}));
}

TEST_CASE("an act names its persons with the roles of the list, and is not verified") {
  const auto asked = act_request(
      post(R"({"act":"reset","object":"3","reason":"mended","as":"S. Vane","second":"T. Marsh","seen":12})"), crew,
      std::nullopt);
  REQUIRE(asked);
  CHECK(asked->action.what == Act::reset);
  CHECK(asked->action.object == "3");
  CHECK(asked->action.person.name == "S. Vane");
  CHECK(asked->action.person.role == Role::supervisor);
  CHECK(asked->action.second.role == Role::technician);
  CHECK(asked->action.seen == 12);
  CHECK(asked->action.peer_uid == 1000);
  CHECK_FALSE(asked->action.verified);
}

TEST_CASE("an unknown person's act goes on without authority, so that the refusal is recorded too") {
  const auto asked = act_request(post(R"({"act":"reset","object":"3","as":"Nobody"})"), crew, std::nullopt);
  REQUIRE(asked);
  CHECK(asked->action.person.name == "Nobody");
  CHECK(asked->action.person.role == Role::auditor);
  CHECK_FALSE(asked->hint.empty());
}

TEST_CASE("a list that cannot be read leaves every name without authority") {
  const auto unreadable = []() -> Result<People, std::string> { return Failure{std::string("people.json: no such luck")}; };
  const auto asked = act_request(post(R"({"act":"reset","as":"S. Vane"})"), unreadable, std::nullopt);
  REQUIRE(asked);
  CHECK(asked->action.person.role == Role::auditor);
  CHECK(asked->hint == "people.json: no such luck");
}

TEST_CASE("a request that is not an act is refused with what is wrong") {
  const std::string long_reason(reason_most + 1, 'a');
  for (const std::string& body :
       {std::string(), std::string("[]"), std::string("{\"act\":\"fly\"}"),
        std::string("{\"act\":\"reset\",\"force\":true}"), std::string("{\"act\":\"reset\",\"reason\":7}"),
        "{\"act\":\"reset\",\"reason\":\"" + long_reason + "\"}", std::string("{\"act\":\"reset\",\"reason\":\"a\\nb\"}"),
        std::string("{\"act\":\"reset\",\"seen\":\"12\"}"), std::string("{\"act\":\"reset\",\"reason\":\"\xff\"}"),
        std::string("{\"act\":[[[[[[[]]]]]]]}")})
    CHECK_FALSE(act_request(post(body), crew, std::nullopt));
}
