#include "daemon/service/requests.hpp"

#include <charconv>
#include <chrono>
#include <optional>
#include <utility>

#include "daemon/service/act_request.hpp"
#include "daemon/service/safe_act.hpp"

namespace standfast {
namespace {

constexpr std::string_view recorded_path = "/v1/recorded/";
constexpr std::chrono::seconds worth_doing_for{5};  // The asker is told after twice as long that nobody answered.

std::optional<Reply> refusal_of(Objection objection) {
  switch (objection) {
    case Objection::none: return std::nullopt;
    case Objection::crowded: return problem(503, "too-many-connections", "too many connections; try again");
    case Objection::not_whole: return problem(413, "body-too-long", "the body is too long or was cut off");
    case Objection::two_lengths: return problem(400, "two-lengths", "the length of the body is stated twice");
  }
  return std::nullopt;
}

}  // namespace

void Requests::handle(const Request& request, ReplyTo reply) const {
  const bool get = request.method == "GET", post = request.method == "POST";
  const std::string& path = request.target;
  if (auto safe = safe_act(request, parts_.people.remembered()))
    return submit({std::move(*safe), nullptr, {}}, now(), {}, reply);
  if (const auto refusal = refusal_of(request.objection)) return reply(*refusal);
  if (get && path == "/v1/picture")
    return parts_.pictures.ask([reply](const Picture& picture) { reply({200, *picture}); });
  if (get && path.starts_with(recorded_path)) return recorded(path.substr(recorded_path.size()), reply);
  const bool acts = path == "/v1/act" || path == "/v1/offer" || path == "/v1/adopt" || path == "/v1/stop";
  if (!acts && path != "/v1/picture" && !path.starts_with(recorded_path))
    return reply(problem(404, "unknown-path", "there is nothing at that path"));
  if (!acts || !post) return reply(problem(405, "wrong-method", "pictures are for GET, acts for POST"));
  if (request.content_type != "application/json")
    return reply(problem(415, "not-json", "acts come as application/json"));
  if (path == "/v1/act") return later([this, request, reply](AskedAt at) { act(request, at, reply); }, reply);
  const Act what = path == "/v1/offer" ? Act::offer : Act::adopt;
  later([this, request, what, reply](AskedAt at) { files(request, what, at, reply); }, reply);
}

Requests::AskedAt Requests::now() const {
  const std::lock_guard lock{order_};
  return {std::chrono::steady_clock::now(), withdrawals_};
}

void Requests::later(std::function<void(AskedAt)> task, const ReplyTo& reply) const {
  if (!parts_.worker.run([task = std::move(task), at = now()] { task(at); }))
    reply(problem(503, "too-many-acts", "too many acts are waiting; try again"));
}

void Requests::act(const Request& request, AskedAt at, const ReplyTo& reply) const {
  const auto asked = act_request(request, [this] { return parts_.people.read(); }, std::nullopt);
  if (!asked) return reply(problem(400, "malformed", asked.error()));
  if (asked->action.what == Act::offer || asked->action.what == Act::adopt)
    return reply(problem(400, "malformed", "files have paths of their own: /v1/offer, /v1/adopt"));
  submit({asked->action, nullptr, {}}, at, asked->hint, reply);
}

void Requests::files(const Request& request, Act act, AskedAt at, const ReplyTo& reply) const {
  auto asked = act_request(request, [this] { return parts_.people.read(); }, act);
  if (!asked) return reply(problem(400, "malformed", asked.error()));
  auto revision = parts_.folder.read();
  if (!revision) return reply(reply_of(revision.error()));
  const std::string name = revision->name();
  if (act == Act::adopt && asked->action.value != name)
    return reply(problem(409, "not-that-revision",
                         "the files in the job folder are revision " + name + ", not '" + asked->action.value + "'"));
  asked->action.value = name;
  submit({asked->action, std::make_shared<const Revision>(std::move(*revision)), {}}, at, asked->hint, reply);
}

void Requests::recorded(const std::string& text, ReplyTo reply) const {
  std::int64_t seq = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), seq);
  if (error != std::errc{} || end != text.data() + text.size() || seq < 0)
    return reply(problem(400, "malformed", "not a row number"));
  reply({200, std::string("{\"schema\":\"standfast-recorded-1\",\"recorded\":") +
                  (parts_.durable_seq() >= seq ? "true" : "false") + "}"});
}

void Requests::submit(Asked asked, AskedAt at, const std::string& hint, const ReplyTo& reply) const {
  asked.answer = [reply, hint](const Answered& answered) { reply(reply_of(answered, hint)); };
  const Act what = asked.action.what;
  const std::lock_guard lock{order_};
  if (!makes_safe(what) && at.withdrawals != withdrawals_)
    return reply(problem(503, "withdrawn", "meanwhile somebody called stop or ended the permit; nothing was done"));
  if (!makes_safe(what) && std::chrono::steady_clock::now() - at.time > worth_doing_for)
    return reply(problem(503, "too-late", "a disk did not answer in time; nothing was done; try again"));
  if (withdraws(what)) ++withdrawals_;
  if (!parts_.inbox.add_act(std::move(asked)))
    reply(problem(503, "too-many-acts", "too many acts are waiting; try again"));
}

}  // namespace standfast
