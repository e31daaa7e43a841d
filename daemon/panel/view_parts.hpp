// The parts of the picture, one function for each.
#pragma once

#include <boost/json.hpp>

#include "daemon/panel/last_numbers.hpp"
#include "daemon/panel/shown.hpp"
#include "daemon/panel/view.hpp"

namespace standfast {

struct Drawing {
  const State& state;
  const PictureFacts& facts;
  Shown shown;
  const LastNumbers& last;
  std::optional<Values> before;  // With the last numbers of what has none now.

  // Whole milliseconds since then; never negative.
  std::int64_t age_ms(Instant then) const { return then < facts.now ? (facts.now - then).ns / 1'000'000 : 0; }
  const Job* job() const { return state.job.get(); }
};

// {text, quality, cause, why, age_ms} and, while there is a number, {si, dimension}.
boost::json::object reading_view(const Drawing& drawing, const Reading& reading, Sign sign = Sign::minus, int least_decimals = 0);
// {text, si, dimension}
boost::json::object amount_view(const Drawing& drawing, const Amount& amount, Sign sign = Sign::minus, int least_decimals = 0);
// Beside a reading without a number: `last` with the one it had, {text, si, age_ms}, where there was one.
void add_last(const Drawing& drawing, const std::optional<Reading>& last, Sign sign, boost::json::object& view);

boost::json::object signal_view(const Drawing& drawing);
boost::json::array alarms_view(const Drawing& drawing);
boost::json::object permit_view(const Drawing& drawing);
boost::json::object stage_view(const Drawing& drawing);
boost::json::array stages_view(const Drawing& drawing);
boost::json::array jacks_view(const Drawing& drawing);
boost::json::array points_view(const Drawing& drawing);
boost::json::array limits_view(const Drawing& drawing);
boost::json::array channels_view(const Drawing& drawing);
// Each bus that is asked: its polls of the last whole minute.
boost::json::array buses_view(const Drawing& drawing);
boost::json::array inputs_view(const Drawing& drawing);
boost::json::object outputs_view(const Drawing& drawing);
boost::json::array proofs_view(const Drawing& drawing);

}  // namespace standfast
