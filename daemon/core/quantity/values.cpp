#include "daemon/core/quantity/values.hpp"

#include <algorithm>

#include "config/depends.hpp"
#include "daemon/core/entered_value.hpp"
#include "daemon/core/quantity/evaluate.hpp"

namespace standfast {
namespace {

// ---- The windows a plan asks for ----

std::size_t gauge_count(const QuantityRef& of, const Rig& rig) {
  std::size_t count = 0;
  for (const std::uint16_t point : of.subjects) count += rig.points[point].gauges.size();
  return count;
}

void add_windows(std::vector<Windowed>& windowed, const QuantityRef& of, const Rig& rig) {
  if (of.rate == is_windowed(of.kind)) return;
  if (std::any_of(windowed.begin(), windowed.end(), [&](const Windowed& each) { return each.of == of; })) return;
  Windowed& added = windowed.emplace_back();
  added.of = of;
  if (of.rate) added.slopes.assign(is_by_gauge(of.kind) ? gauge_count(of, rig) : 1, SlopeWindow{of.over, {}});
  else if (of.kind == QuantityKind::creep) added.creeps.resize(gauge_count(of, rig));
  else added.stiffness.emplace();
}

std::vector<Windowed> windows_of(const Job& job) {
  std::vector<Windowed> windowed;
  for (const Stage& stage : job.plan.stages) {
    for (const Limit& limit : stage.limits) {
      add_windows(windowed, limit.of, job.rig);
      if (limit.when) add_windows(windowed, limit.when->of, job.rig);
    }
    for (const Criterion& criterion : stage.proceed_when)
      if (criterion.kind == Criterion::Kind::quantity) add_windows(windowed, criterion.of, job.rig);
  }
  return windowed;
}

template <class Take>
void for_each_gauge(const QuantityRef& of, const Rig& rig, Take take) {
  std::size_t place = 0;
  for (const std::uint16_t point : of.subjects)
    for (const ChannelId gauge : rig.points[point].gauges) take(place++, gauge);
}

void feed(Windowed& windowed, const ValueContext& context) {
  const Rig& rig = context.job.rig;
  const auto reading = [&](ChannelId channel) -> const Reading& { return context.values.channels[channel.at()].reading; };
  if (!windowed.slopes.empty()) {
    if (!is_by_gauge(windowed.of.kind)) windowed.slopes[0].add(single(series_of(windowed.of, context)));
    else for_each_gauge(windowed.of, rig, [&](std::size_t i, ChannelId gauge) { windowed.slopes[i].add(reading(gauge)); });
  }
  if (!windowed.creeps.empty())
    for_each_gauge(windowed.of, rig, [&](std::size_t i, ChannelId gauge) {
      windowed.creeps[i].add(reading(gauge), context.progress.reached);
    });
  if (!windowed.stiffness) return;
  const JackId jack{windowed.of.subjects[0]};
  const auto stroke = rig.jacks[jack.at()].stroke_channel;
  if (!stroke) return;
  const double step = rig.channels[stroke->at()].resolution;
  windowed.stiffness->add(load_of(jack, context), reading(*stroke), step, context.progress.stage);
}

// ---- Another revision ----

// Old place of what stands at each new place; none where it is new or another thing under the old name.
using OldPlaces = std::vector<std::optional<std::size_t>>;

template <class Named, class Same>
OldPlaces old_places(const std::vector<Named>& now, const std::vector<Named>& before, Same same) {
  OldPlaces places(now.size());
  for (std::size_t i = 0; i < now.size(); ++i)
    for (std::size_t j = 0; j < before.size(); ++j)
      if (now[i].name == before[j].name && same(now[i], before[j])) places[i] = j;
  return places;
}

bool same_scale(const Scale& a, const Scale& b) {
  return a.raw_low == b.raw_low && a.raw_high == b.raw_high && a.value_low == b.value_low && a.value_high == b.value_high &&
         a.loop == b.loop && a.counts_per_mA == b.counts_per_mA;
}

bool same_certificate(const Certificate& a, const Certificate& b) { return a.number == b.number && a.due == b.due; }

// While a swap stands unproved, another certificate says that another instrument is there now, which nothing joins.
OldPlaces old_channels(const Rig& now, const Rig& before, const std::vector<ChannelState>& states) {
  const auto bus_name = [](const Rig& rig, const Channel& channel) {
    return channel.bus ? rig.buses[channel.bus->at()].name : std::string{};
  };
  return old_places(now.channels, before.channels, [&](const Channel& a, const Channel& b) {
    const bool unproved = states[static_cast<std::size_t>(&b - before.channels.data())].segment.unproved;
    return (same_certificate(a.certificate, b.certificate) || !unproved) &&
           bus_name(now, a) == bus_name(before, b) && a.address == b.address && a.type == b.type &&
           a.word_order == b.word_order && a.byte_order == b.byte_order && a.dimension == b.dimension &&
           same_scale(a.scale, b.scale) && a.range_low == b.range_low && a.range_high == b.range_high && a.median == b.median;
  });
}

bool same_curve(const std::vector<CalibrationPoint>& a, const std::vector<CalibrationPoint>& b) {
  const auto same = [](const CalibrationPoint& p, const CalibrationPoint& q) {
    return p.pressure == q.pressure && p.load == q.load;
  };
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), same);
}

OldPlaces old_jacks(const Rig& now, const Rig& before, const OldPlaces& channels) {
  const auto same_channel = [&](std::optional<ChannelId> a, std::optional<ChannelId> b) {
    return a && b ? channels[a->at()] == b->at() : !a && !b;
  };
  return old_places(now.jacks, before.jacks, [&](const Jack& a, const Jack& b) {
    return same_channel(a.advance, b.advance) && same_channel(a.retract, b.retract) && a.area == b.area &&
           a.retract_area == b.retract_area && same_curve(a.rising, b.rising) && same_curve(a.falling, b.falling);
  });
}

// A stage is the same if name and kind are.
OldPlaces old_stages(const Plan& now, const Plan& before) {
  OldPlaces places(now.stages.size());
  for (std::size_t i = 0; i < places.size(); ++i)
    for (std::size_t j = 0; j < before.stages.size(); ++j)
      if (now.stages[i].name == before.stages[j].name && now.stages[i].kind == before.stages[j].kind) places[i] = j;
  return places;
}

template <class T>
std::vector<T> moved(const std::vector<T>& before, const OldPlaces& places) {
  std::vector<T> now(places.size());
  for (std::size_t i = 0; i < places.size(); ++i)
    if (places[i] && *places[i] < before.size()) now[i] = before[*places[i]];
  return now;
}

MarkValues moved(const MarkValues& before, const OldPlaces& channels, const OldPlaces& jacks) {
  return {moved(before.channels, channels), moved(before.loads, jacks)};
}

// Where its twins stood beside a channel goes along with it.
void carry_twins(const ChannelState& before, const OldPlaces& channels, ChannelState& now) {
  for (Partner& partner : now.partners)
    for (const Partner& old : before.partners)
      if (!partner.is_pressure && !old.is_pressure && channels[partner.channel] == std::size_t{old.channel}) partner.stood = old.stood;
}

}  // namespace

Values start_values(const Job& job) {
  Values values;
  values.channels = start_channels(job);
  values.jacks.resize(job.rig.jacks.size());
  values.windowed = windows_of(job);
  values.watches = new_unit_watches(job);
  values.references.marks.resize(job.plan.marks.size());
  values.references.stage_starts.resize(job.plan.stages.size());
  return values;
}

Values carry_over(const Values& before, const Job& old_job, const Job& job) {
  Values values = start_values(job);
  const OldPlaces channels = old_channels(job.rig, old_job.rig, before.channels), jacks = old_jacks(job.rig, old_job.rig, channels);
  for (std::size_t i = 0; i < channels.size(); ++i) {
    if (!channels[i]) continue;
    ChannelState state = before.channels[*channels[i]];
    state.every = values.channels[i].every;
    state.stale_after = values.channels[i].stale_after;
    state.partners = values.channels[i].partners;
    state.step.role = values.channels[i].step.role;
    carry_twins(before.channels[*channels[i]], channels, state);
    // A certificate that rig.yaml names anew is the newest word on it.
    if (!same_certificate(job.rig.channels[i].certificate, old_job.rig.channels[*channels[i]].certificate))
      state.segment.certificate = state.segment.due = {};
    values.channels[i] = std::move(state);
  }
  values.jacks = moved(before.jacks, jacks);
  values.oil_at = before.oil_at;

  const auto marks = old_places(job.plan.marks, old_job.plan.marks, [](const Mark&, const Mark&) { return true; });
  values.references.baseline = moved(before.references.baseline, channels, jacks);
  values.references.lock_off = moved(before.references.lock_off, channels, jacks);
  values.references.travel_zero = moved(before.references.travel_zero, channels, jacks);
  const auto stages = old_stages(job.plan, old_job.plan);
  for (std::size_t s = 0; s < stages.size(); ++s)
    if (stages[s]) values.references.stage_starts[s] = moved(before.references.stage_starts[*stages[s]], channels, jacks);
  for (std::size_t m = 0; m < marks.size(); ++m)
    if (marks[m]) values.references.marks[m] = moved(before.references.marks[*marks[m]], channels, jacks);

  // What a window names, it names by place: it goes on only where every place means what it meant.
  if (job.rig_sha256 == old_job.rig_sha256)
    for (Windowed& each : values.windowed)
      for (const Windowed& old : before.windowed)
        if (old.of == each.of) each = old;
  return values;
}

void take_entry(Values& values, const Job& job, const Entry& entry, WallTime wall, const Progress& progress) {
  take_entry(values.channels[entry.channel.at()], job.rig.channels[entry.channel.at()], entry.si, entry.at, wall);
  const ValueContext context{job, values, progress, entry.at, Take::as_read};
  for (Windowed& each : values.windowed) feed(each, context);
}

void take_scan(Values& values, const Job& job, const Scan& scan, TakenAt taken, const Progress& progress) {
  take_scan(values.channels, job, scan, taken, progress.oil_flows);
  if (progress.oil_flows || progress.oil_may_leave) values.oil_at = taken.at;
  if (!progress.pump_runs.value_or(false)) values.pump_runs_since.reset();
  else if (!values.pump_runs_since) values.pump_runs_since = taken.at;
  watch_steps(values.channels, job, scan, {values.references.baseline, progress.baseline_is_taken, values.oil_at});
  watch_units(values.watches, values.channels, job, scan, taken.at, progress.oil_flows);
  for (std::size_t j = 0; j < job.rig.jacks.size(); ++j) {
    const ChannelId advance = job.rig.jacks[j].advance;
    take_pressure(values.jacks[j], job.rig.channels[advance.at()], values.channels[advance.at()].reading);
  }
  const ValueContext context{job, values, progress, taken.at, Take::as_read};
  for (Windowed& each : values.windowed) feed(each, context);
}

}  // namespace standfast
