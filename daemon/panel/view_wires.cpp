// Channels, inputs, outputs, proofs: what hangs on a wire.
#include <algorithm>

#include "daemon/core/by_hand.hpp"
#include "daemon/core/proofs.hpp"
#include "daemon/core/sounder_test.hpp"
#include "daemon/core/swaps.hpp"
#include "daemon/panel/view_parts.hpp"
#include "daemon/panel/why.hpp"
#include "daemon/record/names.hpp"

namespace standfast {
namespace json = boost::json;
namespace {

constexpr std::array<std::string_view, output_count> output_names{
    "raise_permit", "lower_permit", "stop_relay", "sounder", "beacon", "call_out", "heartbeat"};

json::value tri_state(const std::optional<bool>& bit) { return bit ? json::value(*bit) : json::value(nullptr); }

// What a channel's own request brought in the last whole minute; none before the first is over.
void add_polls(const Drawing& drawing, std::size_t channel, json::object& view) {
  const auto& blocks = drawing.job()->polls.blocks;
  const auto is_read_in = [&](const Block& block) {
    return std::any_of(block.channels.begin(), block.channels.end(), [&](const auto& place) { return place.channel.at() == channel; });
  };
  const auto block = std::find_if(blocks.begin(), blocks.end(), is_read_in);
  const auto place = static_cast<std::size_t>(block - blocks.begin());
  const auto& last = drawing.state.polls.last;
  if (place >= last.size()) return;
  const PollCount& count = last[place];
  if (count.answered > 0) view["achieved_every_ms"] = poll_minute.ns / 1'000'000 / count.answered;
}

// What has been shown of an instrument that is being swapped in, and what comes next.
void add_swap(const Drawing& drawing, std::size_t channel, json::object& view) {
  const auto& swap = drawing.state.values.channels[channel].segment.swap;
  if (!swap) return;
  const SwapSeen seen = swap_seen(drawing.state, channel);
  view["swap"] = json::object{{"certificate", swap->certificate}, {"certificate_due", swap->due},
                              {"by", swap->begun_by},             {"second", swap->second},
                              {"proved", !swap->proof.empty()},   {"shows", drawing.shown.text(swap->shown)},
                              {"stands", seen.stands},            {"wants", seen.wants}};
}

}  // namespace

json::array buses_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const PollBook& book = drawing.state.polls;
  for (std::size_t b = 0; b < book.buses.size(); ++b) {
    const PollCount count = last_minute(book, *drawing.job(), BusId{b});
    if (count.asked() == 0) continue;
    list.push_back(json::object{{"name", drawing.job()->rig.buses[b].name},
                                {"answered", count.answered},
                                {"failed", count.failed},
                                {"unsent", count.unsent},
                                {"age_ms", drawing.age_ms(*book.minute_began)},
                                {"too_many_fail", polls_fail(book.buses[b])},
                                {"too_many_unsent", polls_unsent(book.buses[b])}});
  }
  return list;
}

namespace {

json::object read_view(const Drawing& drawing, std::size_t channel) {
  const Reading& reading = drawing.state.values.channels[channel].reading;
  json::object view = reading_view(drawing, reading);
  const std::string told = reading.quality == Quality::bad ? told_of(drawing, channel) : std::string();
  if (!told.empty()) view["why"] = std::string(entry_of(reading.cause).text) + ": " + told;
  return view;
}

}  // namespace

json::array channels_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const Rig& rig = drawing.job()->rig;
  const std::vector<ChannelState>& channels = drawing.state.values.channels;
  for (std::size_t i = 0; i < rig.channels.size() && i < channels.size(); ++i) {
    const Channel& channel = rig.channels[i];
    const Certificate certificate = certificate_in_place(channel, channels[i].segment);
    json::object view{{"name", channel.name},
                      {"by_hand", !channel.bus},
                      {"overdue", is_overdue(drawing.state, i)},
                      {"bus", channel.bus ? rig.buses[channel.bus->at()].name : std::string("by hand")},
                      {"reading", read_view(drawing, i)},
                      {"flaw", record::name_of(channels[i].flaw)},
                      {"lost", channels[i].lost},
                      {"frozen", channels[i].frozen},
                      {"every_ms", channels[i].every.ns / 1'000'000},
                      {"stale_after_ms", channels[i].stale_after.ns / 1'000'000},
                      {"certificate", certificate.number},
                      {"certificate_due", certificate.due}};
    add_last(drawing, channels[i].reading.quality == Quality::bad ? drawing.last.of(i) : std::nullopt, Sign::minus,
             view["reading"].as_object());
    add_polls(drawing, i, view);
    add_swap(drawing, i, view);
    if (const auto& join = channels[i].segment.join) view["join_offset_si"] = join->offset;
    const Zero& zero = drawing.state.zeros[i];
    if (zero.offset) view["zero_si"] = *zero.offset;
    if (zero.offset && channels[i].reading.has_number())
      view["since_zero"] = drawing.shown.text(Amount{channel.dimension, channels[i].reading.value.si - *zero.offset});
    if (!zero.proposed_by.empty()) view["zero_proposed_by"] = zero.proposed_by;
    list.push_back(std::move(view));
  }
  return list;
}

json::array inputs_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const std::vector<Input>& inputs = drawing.job()->rig.inputs;
  for (std::size_t i = 0; i < inputs.size() && i < drawing.state.inputs.size(); ++i) {
    const bool known = drawing.state.input_known[i];
    list.push_back(json::object{{"name", inputs[i].name},
                                {"known", known},
                                {"on", known ? json::value(drawing.state.inputs[i] != inputs[i].normally_closed)
                                             : json::value(nullptr)}});
  }
  return list;
}

json::object outputs_view(const Drawing& drawing) {
  const OutputWatch& watch = drawing.state.outputs;
  json::array list;
  if (drawing.job() && drawing.job()->rig.output_module)
    for (const Output& output : drawing.job()->rig.output_module->outputs) {
      const auto k = static_cast<std::size_t>(output.kind);
      list.push_back(json::object{{"name", output_names[k]},
                                  {"wanted", drawing.state.wanted.on[k]},
                                  {"written", watch.written.on[k]},
                                  {"read_back", tri_state(watch.readback[k])}});
    }
  json::object view{{"answered", watch.answered_once},
                    {"silent", is_silent(watch, drawing.facts.now)},
                    {"age_ms", drawing.age_ms(watch.last_report)},
                    {"simulated", watch.facts.simulated},
                    {"watchdog_values_as_stated", watch.facts.safe_values_as_stated},
                    {"power_on_values_as_stated", watch.facts.power_on_values_as_stated},
                    {"heartbeat_withheld", drawing.state.heartbeat_withheld},
                    {"list", std::move(list)}};
  if (const auto until = drawing.state.silenced_until; until && *until > drawing.facts.now)
    view["sounder_silenced_ms"] = (*until - drawing.facts.now).ns / 1'000'000;
  if (watch.facts.watchdog) view["watchdog_ms"] = watch.facts.watchdog->ns / 1'000'000;
  return view;
}

namespace {

std::string why_not(const Drawing& drawing, const ProofFailure& failure) {
  if (!failure.lost) return failure.why;
  return failure.why + " " + drawing.shown.text(*failure.lost) + ", " + drawing.shown.text(*failure.allowed) + " is allowed";
}

}  // namespace

json::array proofs_view(const Drawing& drawing) {
  const ProofBook& book = drawing.state.proofs;
  json::array list;
  for (int i = 0; i < proof_count; ++i) {
    const Proof proof = static_cast<Proof>(i);
    list.push_back(json::object{{"name", proof_name(proof)},
                                {"passed", book.has(proof)},
                                {"running", book.run.running && book.run.proof == proof},
                                {"why", why_not(drawing, book.failures[static_cast<std::size_t>(i)])},
                                {"wants", proof_wants(proof)}});
  }
  const SounderTest& sounder = drawing.state.sounder_test;
  list.push_back(json::object{{"name", sounder_test_name}, {"passed", sounder.heard}, {"running", sounder.since.has_value()},
                              {"why", sounder.not_heard ? "not heard" : ""}, {"wants", sounder_test_wants}});
  return list;
}

}  // namespace standfast
