// The parts of the picture, one function for each.
#pragma once

#include <boost/json.hpp>

#include "daemon/panel/shown.hpp"
#include "daemon/panel/view.hpp"

namespace standfast {

struct Drawing {
  const State& state;
  const PictureFacts& facts;
  Shown shown;

  // Whole milliseconds since then; never negative.
  std::int64_t age_ms(Instant then) const { return then < facts.now ? (facts.now - then).ns / 1'000'000 : 0; }
  const Job* job() const { return state.job.get(); }
};

// {text, quality, cause, why, age_ms} and, while there is a number, {si, dimension}.
boost::json::object reading_view(const Drawing& drawing, const Reading& reading);
// {text, si, dimension}
boost::json::object amount_view(const Drawing& drawing, const Amount& amount);

boost::json::object signal_view(const Drawing& drawing);
boost::json::array alarms_view(const Drawing& drawing);
boost::json::object permit_view(const Drawing& drawing);
boost::json::object stage_view(const Drawing& drawing);
boost::json::array stages_view(const Drawing& drawing);
boost::json::array jacks_view(const Drawing& drawing);
boost::json::array points_view(const Drawing& drawing);
boost::json::array limits_view(const Drawing& drawing);
boost::json::array channels_view(const Drawing& drawing);
boost::json::array inputs_view(const Drawing& drawing);
boost::json::object outputs_view(const Drawing& drawing);
boost::json::array proofs_view(const Drawing& drawing);

}  // namespace standfast
