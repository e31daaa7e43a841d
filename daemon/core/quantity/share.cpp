#include "daemon/core/quantity/share.hpp"

#include <algorithm>
#include <cmath>

namespace standfast {
namespace {

constexpr Dimension ratio{Base::ratio, Per::none};

// s = F / T with F a part of T. The other parts are independent of it: u2(s) = ((1 - s) u_F / T)2 + (s / T)2 (u_T2 - u_F2).
double share_uncertainty(double s, double total, double of_load, double of_total) {
  const double own = (1 - s) * of_load / total, others = of_total * of_total - of_load * of_load;
  return std::sqrt(own * own + s * s / (total * total) * std::max(others, 0.0));
}

Judged share_less(const Judged& load, const Judged& total, double planned) {
  Merge merge{ratio};
  merge.add(load);
  merge.add(total);
  const double whole = total.high.value.si;
  if (merge.bad() || !exceeds(total.high.value, {total.high.value.dimension, 0})) return merge.none(Cause::no_reference);
  const double s = load.high.value.si / whole;
  const double uncertainty = share_uncertainty(s, whole, load.high.uncertainty, total.high.uncertainty);
  return merge.either_side({s - planned, s - planned}, uncertainty);
}

}  // namespace

Judged share(const Judged& load, const Judged& total) { return share_less(load, total, 0); }

Judged share_from_planned(const Judged& load, const Judged& total, Ratio planned) {
  return share_less(load, total, planned.si());
}

Judged transferred(const Judged& total, Force column_expected) {
  Merge merge{ratio};
  merge.add(total);
  if (!exceeds(amount(column_expected), amount(Force{}))) return merge.none(Cause::no_reference);
  const double column = column_expected.si();
  return merge.sum({total.high.value.si / column, total.low.value.si / column}, total.high.uncertainty / column);
}

}  // namespace standfast
