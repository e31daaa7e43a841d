#include "daemon/service/requests.hpp"

#include <charconv>
#include <utility>

#include "daemon/service/act_request.hpp"
#include "daemon/service/people.hpp"

namespace standfast {
namespace {

constexpr std::string_view recorded_path = "/v1/recorded/";

}  // namespace

void Requests::handle(const Request& request, ReplyTo reply) const {
  const bool get = request.method == "GET", post = request.method == "POST";
  const std::string& path = request.target;
  if (get && path == "/v1/picture")
    return parts_.pictures.ask([reply](const Picture& picture) { reply({200, *picture}); });
  if (get && path.starts_with(recorded_path)) return recorded(path.substr(recorded_path.size()), reply);
  const bool acts = path == "/v1/act" || path == "/v1/offer" || path == "/v1/adopt";
  if (!acts && path != "/v1/picture" && !path.starts_with(recorded_path))
    return reply(problem(404, "unknown-path", "there is nothing at that path"));
  if (!acts || !post) return reply(problem(405, "wrong-method", "pictures are for GET, acts for POST"));
  if (request.content_type != "application/json")
    return reply(problem(415, "not-json", "acts come as application/json"));
  if (path == "/v1/act") return act(request, std::move(reply));
  const Act what = path == "/v1/offer" ? Act::offer : Act::adopt;
  if (!parts_.worker.run([this, request, what, reply] { files(request, what, reply); }))
    reply(problem(503, "too-many-acts", "the files are being read; try again"));
}

void Requests::act(const Request& request, ReplyTo reply) const {
  const auto asked = act_request(request, [this] { return read_people(parts_.station); }, std::nullopt);
  if (!asked) return reply(problem(400, "malformed", asked.error()));
  if (asked->action.what == Act::offer || asked->action.what == Act::adopt)
    return reply(problem(400, "malformed", "files have paths of their own: /v1/offer, /v1/adopt"));
  submit({asked->action, nullptr, {}}, asked->hint, std::move(reply));
}

void Requests::files(const Request& request, Act act, const ReplyTo& reply) const {
  auto asked = act_request(request, [this] { return read_people(parts_.station); }, act);
  if (!asked) return reply(problem(400, "malformed", asked.error()));
  auto revision = parts_.folder.read();
  if (!revision) return reply(reply_of(revision.error()));
  const std::string name = revision->name();
  if (act == Act::adopt && asked->action.value != name)
    return reply(problem(409, "not-that-revision",
                         "the files in the job folder are revision " + name + ", not '" + asked->action.value + "'"));
  asked->action.value = name;
  submit({asked->action, std::make_shared<const Revision>(std::move(*revision)), {}}, asked->hint, reply);
}

void Requests::recorded(const std::string& text, ReplyTo reply) const {
  std::int64_t seq = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), seq);
  if (error != std::errc{} || end != text.data() + text.size() || seq < 0)
    return reply(problem(400, "malformed", "not a row number"));
  reply({200, std::string("{\"schema\":\"standfast-recorded-1\",\"recorded\":") +
                  (parts_.durable_seq() >= seq ? "true" : "false") + "}"});
}

void Requests::submit(Asked asked, const std::string& hint, ReplyTo reply) const {
  asked.answer = [reply, hint](const Answered& answered) { reply(reply_of(answered, hint)); };
  if (!parts_.inbox.add_act(std::move(asked)))
    reply(problem(503, "too-many-acts", "too many acts are waiting; try again"));
}

}  // namespace standfast
