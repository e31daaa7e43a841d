// Load against travel: how stiff the support proves to be, and how far the ram is from where the plan expects it.
#pragma once

#include <optional>
#include <vector>

#include "config/stages.hpp"
#include "daemon/core/quantity/rate.hpp"

namespace standfast {

struct LoadTravel {
  Instant at{};
  double load{0}, travel{0};  // N, m.
  Cause doubt{Cause::none};
  Saturation saturated{Saturation::none};  // Of either.

  template <class A>
  void visit(A& a) {
    a("at", at);
    a("load", load);
    a("travel", travel);
    a("doubt", doubt);
    a("saturated", saturated);
  }
};

// The last 32 pairs of one jack, each at least five steps of the travel gauge away from the one before: a window in
// travel, because a resting ram tells nothing about stiffness. Another stage starts it anew.
struct StiffnessWindow {
  std::optional<std::uint16_t> stage;
  std::vector<LoadTravel> pairs;

  // `step`: of the travel gauge, m.
  void add(const Judged& load, const Reading& travel, double step, std::optional<StageId> now_in);
  // dF/dd by least squares over the predicted slope: at least five pairs.
  Judged ratio(std::optional<double> predicted_slope, Instant now) const;

  template <class A>
  void visit(A& a) {
    a("stage", stage);
    a("pairs", pairs);
  }
};

// The plan's own predictions for one jack, all steps in the order of the plan, from no load and no travel on; straight
// between them, the last stretch extended. Steps that go up neither in load nor in travel are left out. None where the
// plan predicts nothing for it.
struct Predicted { double travel{0}; double slope{0}; };  // m; N/m of the stretch.
std::optional<Predicted> predicted_at(const Plan& plan, JackId jack, Force load);

// N/m of the stiffest of these stretches; none where the plan predicts nothing for the jack.
std::optional<double> stiffest_predicted(const Plan& plan, JackId jack);

// Ram travel less the prediction for the load it carries. u2 = u2(travel) + (u(load) / slope)2.
Judged departure(const Judged& travel, const Judged& load, const Plan& plan, JackId jack);

}  // namespace standfast
