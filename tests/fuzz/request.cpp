// Any request to the daemon, as its server hands it over: a stop is never refused and no text of a person is longer or stranger
// than the record takes; what is an act has exactly one answer of the engine, comes back from the record as it was, and is
// answered in JSON.
//
// The first two bytes choose method, path, objection and the named act; then come content type and body, parted by a line feed.
#include <algorithm>
#include <boost/json.hpp>
#include <fstream>
#include <iterator>

#include "config/ensure.hpp"
#include "config/load_rig.hpp"
#include "config/load_stages.hpp"
#include "config/poll_plan.hpp"
#include "daemon/core/engine.hpp"
#include "daemon/core/state.hpp"
#include "daemon/record/rows.hpp"
#include "daemon/service/act_request.hpp"
#include "daemon/service/safe_act.hpp"

using namespace standfast;

namespace {

constexpr const char* methods[] = {"POST", "GET", "PUT", "post"};
constexpr const char* targets[] = {"/v1/stop", "/v1/act", "/v1/act?x", "/v1/offer", "/v1/adopt", "/v1/stop?", "/v1/picture", ""};

People some_people() {
  const Person engineer{"E. Quill", {Role::engineer}, "2026-01-01T00:00:00Z", "", ""};
  const Person supervisor{"S. Wren", {Role::supervisor, Role::technician}, "2026-01-01T00:00:00Z", "", ""};
  return {{engineer, supervisor}};
}

std::string bytes_of(const char* name) {
  std::ifstream file{std::string(SOURCE_ROOT "/config/examples/grain-store/") + name};
  return {std::istreambuf_iterator<char>{file}, {}};
}

std::shared_ptr<const Job> example_job() {
  auto rig = load_rig(bytes_of("rig.yaml"), "rig.yaml");
  ENSURE(rig.value.has_value());
  auto plan = load_stages(bytes_of("stages.yaml"), "stages.yaml", *rig.value);
  ENSURE(plan.value.has_value());
  auto job = std::make_shared<Job>();
  job->rig = std::move(*rig.value);
  job->plan = std::move(*plan.value);
  job->polls = poll_plan(job->rig);
  return job;
}

bool is_plain(const std::string& text, std::size_t most) {
  const auto strange = [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; };
  return text.size() <= most && std::none_of(text.begin(), text.end(), strange);
}

void check_texts(const Action& action) {
  ENSURE(is_plain(action.object, object_most) && is_plain(action.value, value_most) && is_plain(action.reason, reason_most));
  ENSURE(is_plain(action.person.name, person_name_most) && is_plain(action.second.name, person_name_most));
}

void check_answer(const Action& action, const std::string& hint) {
  static const std::shared_ptr<const Job> job = example_job();
  const WallTime wall{1'800'000'000'000'000'000};
  Engine engine;
  engine.apply({Instant{1'000}, wall, Started{"a boot", "a test", true}});
  engine.apply({Instant{2'000}, wall, JobInForce{job}});
  const Event event{Instant{3'000}, wall, action};
  const Effects effects = engine.apply(event);
  const ActionAnswer* answer = nullptr;
  for (const EffectRow& row : effects.rows) {
    const auto* found = std::get_if<ActionAnswer>(&row);
    ENSURE(!found || !answer);
    if (found) answer = found;
  }
  ENSURE(answer != nullptr && answer->what == action.what);
  ENSURE(action.what != Act::stop || (answer->accepted && engine.state().signal == Level::stop));
  const record::Row row = record::row_of(event, {.span = 1, .revision = 1, .host = "any"});
  const auto back = record::event_of(row, false);
  ENSURE(static_cast<bool>(back));
  ENSURE(record::row_of(*back, {.span = 1, .revision = 1, .host = "any"}) == row);
  const Reply reply = reply_of(Answered{*answer, 7, true}, hint);
  boost::json::error_code error;
  ENSURE(boost::json::parse(reply.body, error).is_object() && !error);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 2) return 0;
  const std::string_view text{reinterpret_cast<const char*>(data) + 2, size - 2};
  const std::size_t line = text.find('\n');
  Request request;
  request.method = methods[data[0] % 4];
  request.target = targets[data[0] / 4 % 8];
  request.objection = static_cast<Objection>(data[0] / 32 % 4);
  request.content_type = text.substr(0, line);
  request.body = line == std::string_view::npos ? std::string_view{} : text.substr(line + 1);
  static const People people = some_people();
  const auto safe = safe_act(request, people);
  ENSURE(safe.has_value() || !(request.method == "POST" && request.target.starts_with("/v1/stop")));
  if (safe) {
    ENSURE(makes_safe(safe->what) && never_refused(request.method, request.target));
    check_texts(*safe);
    check_answer(*safe, {});
  }
  const std::optional<Act> fixed = data[1] % 3 == 0 ? std::nullopt : std::optional(data[1] % 3 == 1 ? Act::offer : Act::adopt);
  if (const auto asked = act_request(request, [] { return Result<People, std::string>{people}; }, fixed)) {
    check_texts(asked->action);
    check_answer(asked->action, asked->hint);
  }
  return 0;
}
