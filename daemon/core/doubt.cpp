#include "daemon/core/doubt.hpp"

#include <array>

#include "config/ensure.hpp"

namespace standfast {
namespace {

using enum Quality;

constexpr std::string_view silence = "nobody knows the value; the instrument raises its alarm instead";
constexpr std::string_view broken = "the loop or the number is broken; the instrument raises its alarm instead";
constexpr std::string_view unfounded = "it cannot be computed; what needs it is not permitted";

constexpr std::array<Doubt, doubt_count> doubts{{
    {Cause::none, good, true, true, ""},

    {Cause::never_read, bad, false, false, silence},
    {Cause::stale, bad, false, false, silence},
    {Cause::not_connected, bad, false, false, silence},
    {Cause::no_answer, bad, false, false, silence},
    {Cause::foreign_answer, bad, false, false, silence},
    {Cause::malformed_answer, bad, false, false, silence},
    {Cause::exception_refused, bad, false, false, silence},
    {Cause::exception_failed, bad, false, false, silence},
    {Cause::exception_busy, bad, false, false, silence},
    {Cause::exception_gateway, bad, false, false, silence},
    {Cause::garbled_answer, bad, false, false, silence},
    {Cause::wrong_instrument, bad, false, false, "what it shows belongs to something else; the instrument raises its alarm instead"},
    {Cause::line_in_use, bad, false, false, silence},
    {Cause::line_changed, bad, false, false, silence},
    {Cause::being_swapped, bad, false, false, "it shows another instrument's number; the instrument raises its alarm instead"},
    {Cause::overload, bad, false, false, "beyond what it can show, and it does not say at which end; it raises its alarm instead"},
    {Cause::loop_low, bad, false, false, broken},
    {Cause::loop_high, bad, false, false, broken},
    {Cause::not_finite, bad, false, false, broken},
    {Cause::unreadable_text, bad, false, false, broken},
    {Cause::part_bad, bad, false, false, unfounded},
    {Cause::skewed_bad, bad, false, false, unfounded},
    {Cause::filling, bad, false, false, unfounded},
    {Cause::mark_missing, bad, false, false, unfounded},
    {Cause::no_reference, bad, false, false, unfounded},

    {Cause::loop_over_range, uncertain, true, false, "a transmitter does not say whether this is a value or a failure"},
    {Cause::outside_range, uncertain, true, false, "the instrument states no accuracy there"},
    {Cause::saturated_low, uncertain, true, false, "beyond every bound below, whatever it is"},
    {Cause::saturated_high, uncertain, true, false, "beyond every bound above, whatever it is"},
    {Cause::frozen, uncertain, true, false, "the gauge may be stuck"},
    {Cause::unit_frozen, uncertain, true, false, "the unit may have stopped measuring"},
    {Cause::twins_disagree, uncertain, true, false, "one of the gauges is wrong and nobody knows which"},
    {Cause::lone_step, uncertain, true, false, "the gauge may have been knocked, or its stand moved"},
    {Cause::loop_under_range, uncertain, true, false, "a transmitter does not say whether this is a value or a failure"},
    {Cause::beyond_calibration, uncertain, true, false, "the larger of the curve and p A counts"},
    {Cause::certificate_overdue, uncertain, true, false, "its accuracy is no longer attested"},
    {Cause::skewed, uncertain, true, false, "its parts belong to different moments"},
    {Cause::oil_flows, uncertain, true, false, "line loss stands between the pump and the jack"},
    {Cause::entry_overdue, uncertain, true, false, "what a person read so long ago may no longer be so"},
    {Cause::shared_transducer, good, true, true, "the jacks are one piece of evidence"},
}};

constexpr bool complete() {
  for (int i = 0; i < doubt_count; ++i) {
    const Doubt& doubt = doubts[static_cast<std::size_t>(i)];
    if (static_cast<int>(doubt.cause) != i) return false;
    if (doubt.trips != (doubt.quality != bad) || doubt.clears != (doubt.quality == good)) return false;
    if (!doubt.trips && doubt.why.empty()) return false;
  }
  return true;
}
static_assert(complete(), "each cause of a value has its row; what cannot trip says why");

// Of equal quality the cause declared first is the worse; any cause is worse than none.
constexpr int rank(Cause cause) { return cause == Cause::none ? cause_count : static_cast<int>(cause); }

}  // namespace

const Doubt& doubt_of(Cause cause) {
  const auto place = static_cast<std::size_t>(cause);
  ENSURE(place < doubts.size());
  return doubts[place];
}

bool leaves_a_number(Cause cause) {
  return cause != Cause::none && cause <= Cause::shared_transducer && doubt_of(cause).quality != Quality::bad;
}

bool leaves_no_number(Cause cause) { return cause <= Cause::shared_transducer && doubt_of(cause).quality == Quality::bad; }

bool worse(const Reading& a, const Reading& b) {
  return a.quality != b.quality ? a.quality > b.quality : rank(a.cause) < rank(b.cause);
}

void add_doubt(Reading& reading, Cause cause) {
  Reading doubted = reading;
  doubted.cause = cause;
  doubted.quality = doubt_of(cause).quality;
  if (doubted.quality == Quality::bad) doubted.saturated = Saturation::none;
  if (worse(doubted, reading)) reading = doubted;
}

Reading bad_reading(Cause cause, Dimension dimension, Instant at) {
  ENSURE(doubt_of(cause).quality == Quality::bad);
  return {Quality::bad, cause, {dimension, 0}, 0, Saturation::none, false, at, at};
}

}  // namespace standfast
