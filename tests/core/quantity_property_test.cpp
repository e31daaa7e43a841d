// Properties that hold whatever the wires say: seeded, and a failing case is printed with its seed.
#include <catch2/catch.hpp>
#include <rapidcheck.h>

#include <algorithm>

#include "config/depends.hpp"
#include "daemon/core/quantity/plane.hpp"
#include "daemon/core/quantity/share.hpp"
#include "tests/core/small_site.hpp"
#include "tests/support/full_walk.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

bool is_finite(double value) { return value - value == 0.0; }

std::vector<QuantityRef> every_quantity() {
  using Kind = QuantityKind;
  std::vector<QuantityRef> all{
      of(Kind::pressure, {J1}), of(Kind::load, {J1}), of(Kind::circuit_load, {0}), of(Kind::group_load, {0}),
      of(Kind::total_load), of(Kind::share, {J2}), of(Kind::transferred), of(Kind::movement, {HEAD}),
      of(Kind::differential, {HEAD, WEST}),
      of(Kind::tilt, {HEAD, WEST, EAST, NORTH}), of(Kind::warp, {HEAD, WEST, EAST, NORTH}), of(Kind::travel, {J1}),
      of(Kind::travel_left, {J1}), of(Kind::load_lost, {J1}), of(Kind::predicted_departure, {J1}),
      of(Kind::stiffness_ratio, {J1}), of(Kind::creep, {HEAD}), of(Kind::temperature, {T1}),
      of(Kind::temperature_change, {T1}), of(Kind::agreement, {HEAD}), of(Kind::pressure_spread, {0}),
      of(Kind::supply, {0}), of(Kind::channel, {G1})};
  RC_ASSERT(all.size() == static_cast<std::size_t>(quantity_kind_count));
  for (std::size_t i = 0, n = all.size(); i < n; ++i)
    if (!is_by_gauge(all[i].kind) || i % 2) all.push_back(rate_of(all[i], seconds(2)));
  return all;
}

SmallSite watching_everything() {
  SmallSite site;
  site.job.plan.stages.resize(1);
  for (const QuantityRef& quantity : every_quantity()) {
    Limit limit;
    limit.of = quantity;
    site.job.plan.stages[0].limits.push_back(limit);
  }
  Step step;
  step.targets = {{JackId{std::size_t{J1}}, Force::from_si(500 * kN), Force::from_si(500 * kN)}};
  step.predicted = {{JackId{std::size_t{J1}}, Length::from_si(6 * mm), Length::from_si(1 * mm)}};
  site.job.plan.stages[0].steps = {step};
  for (const std::uint16_t place : {G3, S1}) site.job.rig.channels[place].median = 3;
  site.restart();
  return site;
}

std::uint16_t word() {
  return *rc::gen::oneOf(rc::gen::arbitrary<std::uint16_t>(), rc::gen::inRange<std::uint16_t>(3500, 21500));
}

// One event of a wire: an answer of any words and any length, or any flaw.
void anything_happens(SmallSite& site) {
  site.wait(milliseconds(*rc::gen::inRange<std::int64_t>(0, 700)));
  const auto block = *rc::gen::inRange<std::size_t>(0, 2);
  const auto flaw = *rc::gen::inRange(0, 4 * flaw_count);
  if (flaw < flaw_count) return site.scan(block, Words{}, static_cast<Flaw>(flaw));
  Words words(*rc::gen::inRange<std::size_t>(block == 0 ? 3 : 6, block == 0 ? 5 : 8));
  for (std::uint16_t& each : words) each = word();
  site.scan(block, words);
}

void check(const Reading& reading) {
  RC_ASSERT(is_finite(reading.value.si));
  RC_ASSERT(is_finite(reading.uncertainty) && reading.uncertainty >= 0);
  RC_ASSERT(doubt_of(reading.cause).quality == reading.quality);
  if (reading.quality == Quality::bad) RC_ASSERT(!reading.has_number() && reading.saturated == Saturation::none);
  RC_ASSERT(reading.oldest <= reading.newest);
}

Judged load_part() {
  const double force = *rc::gen::inRange(-100'000, 2'000'000) * 0.37;
  return judged(good(force, newtons, *rc::gen::inRange(0, 5000) * 1.0));
}

}  // namespace

TEST_CASE("whatever the wires say, every value is finite, and a bad one is no number") {
  CHECK(rc::check([] {
    SmallSite site = watching_everything();
    const auto quantities = every_quantity();
    const int events = *rc::gen::inRange(1, 60);
    for (int i = 0; i < events; ++i) {
      anything_happens(site);
      if (i == events / 2) site.take_baseline();
      site.progress.reached = Instant{};
      site.progress.stage = StageId{std::size_t{0}};
      for (const ChannelState& channel : site.values.channels) {
        check(channel.reading);
        check(channel.steadied);
      }
      for (const QuantityRef& quantity : quantities)
        for (const Take take : {Take::as_read, Take::steadied}) {
          const Judged value = evaluate(quantity, site.context(take));
          RC_LOG() << entry_of(quantity.kind).name << (quantity.rate ? " rate" : "") << '\n';
          check(value.high);
          check(value.low);
          RC_ASSERT(value.high.quality == value.low.quality && value.high.cause == value.low.cause);
          RC_ASSERT(value.high.saturated != Saturation::low && value.low.saturated != Saturation::high);
          if (value.high.quality != Quality::bad) RC_ASSERT(value.high.value.si >= value.low.value.si);
        }
    }
  }));
}

TEST_CASE("a tick changes no value until a reading goes stale") {
  CHECK(rc::check([] {
    SmallSite site = watching_everything();
    for (int i = 0; i < 20; ++i) anything_happens(site);
    SmallSite ticked = site;
    const auto next = next_stale(site.values.channels);
    if (next) ticked.wait(*next - site.now - nanoseconds(1));
    RC_ASSERT(!next || std::none_of(ticked.values.channels.begin(), ticked.values.channels.end(),
                                    [&](const ChannelState& c) { return c.stale_at && *c.stale_at <= ticked.now; }));
    for (std::size_t i = 0; i < site.values.channels.size(); ++i) {
      RC_ASSERT(site.values.channels[i].reading.cause == ticked.values.channels[i].reading.cause);
      RC_ASSERT(site.values.channels[i].reading.value.si == ticked.values.channels[i].reading.value.si);
    }
  }));
}

TEST_CASE("the order of its parts decides nothing about a sum") {
  CHECK(rc::check([] {
    std::vector<Judged> parts(*rc::gen::inRange<std::size_t>(2, 16));
    for (Judged& part : parts) part = load_part();
    for (Judged& part : parts) {
      add_doubt(part.high, static_cast<Cause>(*rc::gen::inRange(static_cast<int>(Cause::loop_over_range), doubt_count)));
      part.low = part.high;
    }
    const auto sum_of = [](const std::vector<Judged>& of_these) {
      Loads loads;
      for (std::size_t i = 0; i < of_these.size(); ++i) loads.add(of_these[i], ChannelId{i});
      return loads.sum().sum;
    };
    const Judged sum = sum_of(parts);
    std::reverse(parts.begin(), parts.end());
    std::rotate(parts.begin(), parts.begin() + 1, parts.end());
    const Judged other = sum_of(parts);
    // Binary addition may differ in its last bits: by far less than the grid on which values are compared.
    RC_ASSERT(std::abs(sum.high.value.si - other.high.value.si) < grid_step(newtons));
    RC_ASSERT(sum.high.cause == other.high.cause && sum.high.quality == other.high.quality);
  }));
}

TEST_CASE("a part off the scale is seen in whatever is computed from it") {
  CHECK(rc::check([] {
    SmallSite site = watching_everything();
    for (int i = 0; i < 30; ++i) {
      site.wait(milliseconds(100));
      for (std::size_t g = 0; g < site.gauges.size(); ++g) site.gauges[g] = *rc::gen::inRange<std::uint16_t>(1000, 9000);
      site.read();
      if (i == 0) site.take_baseline();
    }
    site.wait(milliseconds(100));
    const std::uint16_t place = *rc::gen::element(G1, G3, G4, G5, S1);
    site.set_gauge(place, 32767);
    site.read();
    for (const QuantityRef& quantity : every_quantity()) {
      const std::vector<ChannelId> channels = channels_of(quantity, site.job.rig);
      if (std::find(channels.begin(), channels.end(), ChannelId{std::size_t{place}}) == channels.end()) continue;
      const Judged value = site.value(quantity);
      if (value.high.quality == Quality::bad) continue;
      RC_LOG() << entry_of(quantity.kind).name << (quantity.rate ? " rate" : "") << '\n';
      RC_ASSERT(value.high.saturated == Saturation::high || value.low.saturated == Saturation::low);
    }
  }));
}

TEST_CASE("the worst doubt of its parts travels into every quantity") {
  CHECK(rc::check([] {
    SmallSite site = watching_everything();
    for (int i = 0; i < 30; ++i) {
      site.wait(milliseconds(100));
      site.set_pressure(J1, 300 + i);
      site.read();
      if (i == 0) site.take_baseline();
    }
    site.wait(milliseconds(100));
    site.pressures[J1] = static_cast<std::uint16_t>(*rc::gen::element(0, 3700, 20800, 22000));
    site.read();
    for (const QuantityRef& quantity : every_quantity()) {
      const std::vector<ChannelId> channels = channels_of(quantity, site.job.rig);
      if (std::find(channels.begin(), channels.end(), ChannelId{std::size_t{P1}}) == channels.end()) continue;
      RC_ASSERT(site.value(quantity).high.quality >= site.channel(P1).quality);
    }
  }));
}

TEST_CASE("the tilt is the steepest that any choice of gauges gives, found without trying them all") {
  CHECK(rc::check([] {
    std::vector<PlanePoint> points(*rc::gen::inRange<std::size_t>(3, 7));
    for (PlanePoint& p : points) {
      p.at = {*rc::gen::inRange(-50, 50) * 0.1, *rc::gen::inRange(-50, 50) * 0.1};
      const double low = *rc::gen::inRange(-300, 300) * 1e-5, apart = *rc::gen::inRange(0, 300) * 1e-5;
      p.height = {good(low + apart, metres), good(low, metres)};
    }
    RC_PRE(fit_plane(points).has_value());
    const Dimension slope{Base::angle, Per::none};
    double steepest = 0;
    for (unsigned choice = 0; choice < 1u << points.size(); ++choice) {
      std::vector<PlanePoint> chosen = points;
      for (std::size_t i = 0; i < points.size(); ++i)
        chosen[i].height = judged(choice >> i & 1 ? points[i].height.high : points[i].height.low);
      steepest = std::max(steepest, tilt(chosen, slope).high.value.si);
    }
    const double found = tilt(points, slope).high.value.si;
    RC_ASSERT(std::abs(found - steepest) <= 1e-9 * steepest + 1e-12);
  }));
}

TEST_CASE("the tilt of a plane does not change when the site is turned a quarter") {
  CHECK(rc::check([] {
    std::vector<PlanePoint> points{{{0, 0}, {}}, {{3, 0}, {}}, {{3, 4}, {}}, {{0, 4}, {}}};
    for (PlanePoint& p : points) p.height = judged(good(*rc::gen::inRange(-5000, 5000) * 1e-6, metres));
    const Dimension slope{Base::angle, Per::none};
    const double before = tilt(points, slope).high.value.si;
    for (PlanePoint& p : points) p.at = {-p.at.y, p.at.x};
    RC_ASSERT(std::abs(tilt(points, slope).high.value.si - before) <= 1e-15);
  }));
}
