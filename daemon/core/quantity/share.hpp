// Load in proportion: of a jack to the whole, of the whole to the column. Ratios.
#pragma once

#include "daemon/core/quantity/judged.hpp"
#include "config/units.hpp"

namespace standfast {

// F_i / sum F. No number while the sum is not above 0.
Judged share(const Judged& load, const Judged& total);

// F_i / sum F - planned share.
Judged share_from_planned(const Judged& load, const Judged& total, Ratio planned);

// sum F / N: the fraction of the expected column load that the jacks carry.
Judged transferred(const Judged& total, Force column_expected);

}  // namespace standfast
