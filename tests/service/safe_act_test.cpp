// Stop, permit end, acknowledge and silence are never refused for their form.
#include "daemon/service/safe_act.hpp"

#include <catch2/catch.hpp>
#include <condition_variable>
#include <mutex>

#include "config/source_text.hpp"
#include "daemon/service/act_request.hpp"
#include "daemon/service/requests.hpp"
#include "tests/service/folder.hpp"

using namespace standfast;

namespace {

Request post(const std::string& path, const std::string& body, const std::string& type = "application/json") {
  return {"POST", path, type, body, 1000};
}
const People crew{{{"S. Vane", {Role::supervisor}, "", "", ""}}};

bool is_plain(const std::string& text) {
  for (std::size_t at = 0; at < text.size();) {
    const int bytes = utf8_at(text, at).bytes;
    if (bytes == 0 || (bytes == 1 && (static_cast<unsigned char>(text[at]) < 0x20 || text[at] == 0x7f))) return false;
    at += static_cast<std::size_t>(bytes);
  }
  return true;
}

// Requests on a folder, and what the inbox has got of them.
struct Desk {
  Folder folder;
  Inbox inbox;
  Pictures pictures{inbox};
  JobFolder job{folder.path()};
  KnownPeople people{folder.path()};
  Worker worker;
  Requests requests{{inbox, pictures, job, people, worker, [] { return std::int64_t{0}; }}};
  std::mutex mutex;
  std::condition_variable came;
  std::vector<int> replies;

  ~Desk() { worker.end(); }
  void ask(const Request& request) {
    requests.handle(request, [this](const Reply& reply) {
      const std::lock_guard lock{mutex};
      replies.push_back(reply.status);
      came.notify_all();
    });
  }
  int reply() {
    std::unique_lock lock{mutex};
    came.wait(lock, [this] { return !replies.empty(); });
    return replies.back();
  }
  std::optional<Action> taken() {
    auto next = inbox.take();
    if (!next) return std::nullopt;
    return std::get<Asked>(next->what).action;
  }
};

}  // namespace

TEST_CASE("a stop with any body is a called stop, its words kept as far as they can be") {
  const std::string long_reason(5000, 'a');
  struct Sent { std::string body, reason; };
  for (const Sent& sent : {Sent{"", ""}, Sent{R"({"reason":"crack"})", "crack"}, Sent{"{\"reason\":\"a\\nb\\u0000\"}", "a\\x0ab\\x00"},
                           Sent{R"({"reason":"cra)", R"({"reason":"cra)"}, Sent{"crack\r\n", "crack\\x0d\\x0a"},
                           Sent{R"({"reason":7,"force":true})", "7"}, Sent{"[]", "[]"}, Sent{"\xff\xfe", "\\xff\\xfe"},
                           Sent{"{\"reason\":\"" + long_reason + "\"}", long_reason.substr(0, reason_most - 3) + "..."}}) {
    for (const char* type : {"application/json", "text/plain", ""}) {
      const auto stop = safe_act(post("/v1/stop", sent.body, type), crew);
      REQUIRE(stop);
      CHECK(stop->what == Act::stop);
      CHECK(stop->reason == sent.reason);
      CHECK(stop->peer_uid == 1000);
    }
  }
}

TEST_CASE("an act that names what makes safe is that act, be the rest of it broken") {
  for (const std::string& body :
       {std::string(R"({"act":"stop","force":true})"), std::string(R"({"act":"stop","reason":"cra)"), std::string("act=stop"),
        std::string("{'act': 'stop'}"), std::string("{\"act\":\"stop\",\"reason\":\"\xff\"}"),
        "{\"act\":\"stop\",\"reason\":\"" + std::string(100'000, 'a') + "\"}"}) {
    const auto stop = safe_act(post("/v1/act", body, "text/html"), crew);
    REQUIRE(stop);
    CHECK(stop->what == Act::stop);
    CHECK(stop->reason.size() <= reason_most);
  }
  CHECK(safe_act(post("/v1/act", R"({"act":"permit_end","extra":1})"), crew)->what == Act::permit_end);
  CHECK(safe_act(post("/v1/act", R"({"act":"acknowledge","object":"all","as":"S. Vane"})"), crew)->object == "all");
  CHECK(safe_act(post("/v1/act", R"({"act":"silence","value":"60 s"})"), crew)->value == "60 s");
}

TEST_CASE("of a body that was cut off only what withdraws is taken, for one alarm must not become all") {
  CHECK(safe_act(post("/v1/act", R"({"act":"permit_end","as":"S. Va)"), crew)->what == Act::permit_end);
  for (const char* cut : {R"({"act":"acknowledge","object":"7","as":"T. Mar)", R"({"act":"acknowledge")", "act=acknowledge",
                          R"({"act":"silence","value":"10 s","as":")", "{\"act\":\"silence\",\"value\":\"\xff\"}"}) {
    CHECK_FALSE(safe_act(post("/v1/act", cut), crew));
    Desk desk;
    desk.ask(post("/v1/act", cut));
    CHECK(desk.reply() == 400);
    CHECK_FALSE(desk.taken());
  }
}

TEST_CASE("what loosens is no act that makes safe, whatever its words say") {
  for (const std::string& body :
       {std::string(R"({"act":"reset","reason":"act: stop"})"), std::string(R"({"act":"permit_give","reason":"stop)"),
        std::string(R"({"act":"stopped"})"), std::string("stop"), std::string("{}"), std::string()})
    CHECK_FALSE(safe_act(post("/v1/act", body), crew));
  CHECK_FALSE(safe_act({"GET", "/v1/stop", "", "", 0}, crew));
  CHECK_FALSE(safe_act(post("/v1/adopt", R"({"act":"stop"})"), crew));
}

TEST_CASE("a name on the list has its role, any other none that counts") {
  CHECK(safe_act(post("/v1/stop", R"({"as":"S. Vane"})"), crew)->person.role == Role::supervisor);
  CHECK(safe_act(post("/v1/stop", R"({"as":"Nobody"})"), crew)->person.role == Role::auditor);
  CHECK(safe_act(post("/v1/stop", "{\"as\":\"" + std::string(500, 'N') + "\"}"), crew)->person.name.size() == person_name_most);
}

TEST_CASE("plain words are one line of UTF-8 within their bound, whatever goes in") {
  std::string all;
  for (int byte = 0; byte < 256; ++byte) all += static_cast<char>(byte);
  all += "\xc3\xa9\xe2\x82\xac";
  for (std::size_t most = 4; most < 900; ++most) {
    const std::string out = plain_words(all, most);
    CHECK(out.size() <= most);
    CHECK(is_plain(out));
    CHECK(plain_words(out, most) == out);
  }
  CHECK(plain_words("\xd1\x81\xd1\x82\xd0\xb5\xd0\xbd\xd0\xb5", 10) == "\xd1\x81\xd1\x82\xd0\xb5\xd0\xbd\xd0\xb5");
  CHECK(plain_words("\xd1\x81\xd1\x82\xd0\xb5\xd0\xbd\xd0\xb5", 9) == "\xd1\x81\xd1\x82\xd0\xb5...");
  CHECK(plain_words("\xc3\xa9\xe2\x82\xac", 100) == "\xc3\xa9\xe2\x82\xac");
}

TEST_CASE("a stop and the end of a permit go past a worker that hangs, and what waited behind it is not done after them") {
  Desk desk;
  std::mutex hanging;
  hanging.lock();
  REQUIRE(desk.worker.run([&] { const std::lock_guard wait{hanging}; }));
  desk.ask(post("/v1/act", R"({"act":"permit_give","object":"raise","as":"S. Vane","seen":1})"));
  CHECK_FALSE(desk.taken());
  const char* withdrawal = GENERATE(R"({"act":"permit_end"})", R"({"act":"stop"})");
  desk.ask(post("/v1/act", withdrawal));
  CHECK(desk.taken());
  hanging.unlock();
  CHECK(desk.reply() == 503);
  CHECK_FALSE(desk.taken());
}

TEST_CASE("an objection of the server counts for every act but those that make safe") {
  Desk desk;
  for (const auto& [objection, status] : {std::pair{Objection::crowded, 503}, {Objection::not_whole, 413}, {Objection::two_lengths, 400}}) {
    Request reset = post("/v1/act", R"({"act":"reset","object":"all"})");
    reset.objection = objection;
    desk.ask(reset);
    CHECK(desk.reply() == status);
    Request stop = post("/v1/stop", "");
    stop.objection = objection;
    desk.ask(stop);
    const auto taken = desk.taken();
    REQUIRE(taken);
    CHECK(taken->what == Act::stop);
  }
}
