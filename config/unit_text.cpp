#include "config/unit_text.hpp"

#include <array>
#include <cstddef>
#include <utility>
#include <vector>

#include "config/decimal.hpp"
#include "config/nearest_word.hpp"
#include "config/number_grammar.hpp"
#include "config/quoted.hpp"
#include "config/unit_table.hpp"

namespace standfast {
namespace {

constexpr std::size_t longest_text = 64;
constexpr double grid_steps_at_most = 9.2e18;  // Beyond it `on_grid` cannot tell two amounts apart.

struct DimensionWords {
  std::string_view name, article;
  std::string_view usual, usual_rate, usual_per_decade;  // Units; in the order of Base.
};
constexpr std::array<DimensionWords, base_count> words{{
    {"force", "a", "kN", "kN/min", "kN/decade"},
    {"pressure", "a", "bar", "bar/min", "bar/decade"},
    {"length", "a", "mm", "mm/min", "mm/decade"},
    {"area", "an", "cm2", "cm2/min", "cm2/decade"},
    {"temperature", "a", "degC", "K/min", "K/decade"},
    {"temperature difference", "a", "K", "K/min", "K/decade"},
    {"duration", "a", "s", "s/min", "s/decade"},
    {"ratio", "a", "%", "%/min", "%/decade"},
    {"current", "a", "mA", "mA/min", "mA/decade"},
    {"angle", "an", "mm/m", "mm/m/min", "mm/m/decade"},
    {"stiffness", "a", "kN/mm", "kN/mm/min", "kN/mm/decade"},
    {"moment", "a", "kN m", "kN m/min", "kN m/decade"},
}};

const DimensionWords& words_of(Dimension dimension) { return words[static_cast<std::size_t>(dimension.base)]; }

std::string named(Dimension dimension) {
  const std::string_view article = dimension.per == Per::second ? "a" : words_of(dimension).article;
  return std::string(article) + " " + dimension_name(dimension);
}

std::string form_of(Dimension dimension) {
  return "number, space, unit of " + dimension_name(dimension) + ", as in '0.5 " +
         std::string(default_unit(dimension)) + "'";
}

TextError error_of(std::string code, std::string message, Dimension wanted) {
  return {std::move(code), std::move(message), form_of(wanted), {}};
}

TextError not_a_quantity(std::string_view text, std::string_view reason, Dimension wanted) {
  return error_of("E-number", quoted(text) + " is not a quantity (" + std::string(reason) + ")", wanted);
}

std::string nearest_unit(std::string_view unit, Dimension wanted) {
  const std::string_view ours = our_spelling(unit);
  if (!ours.empty()) return std::string(ours);
  const std::vector<std::string> spellings = unit_spellings(wanted);
  return std::string(nearest_word(unit, std::vector<std::string_view>(spellings.begin(), spellings.end())));
}

bool is_ambiguous_ton(std::string_view unit) {
  return unit == "ton" || unit == "tons" || unit == "tonf" || unit == "ton-force";
}

TextError unit_error(std::string_view text, std::string_view unit, Dimension wanted) {
  if (const auto found = dimension_of_unit(unit)) {
    return error_of("E-unit-dimension", quoted(text) + " is " + named(*found) + ", expected " + named(wanted), wanted);
  }
  const std::string which = is_ambiguous_ton(unit) ? " (short tonf, long tonf or tonnef?)" : "";
  TextError error = error_of("E-unit-unknown", "unknown unit " + quoted(unit) + which, wanted);
  if (which.empty()) error.nearest = nearest_unit(unit, wanted);
  return error;
}

// What refuses a text before anything is read in it; empty if nothing does.
std::string_view reason_against_bytes(std::string_view text) {
  if (text.empty()) return "empty";
  if (text.size() > longest_text) return "longer than 64 bytes";
  for (char c : text) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) return "control character";
  }
  if (text.front() == ' ' || text.back() == ' ') return "space at the end or in front";
  return {};
}

struct Measure {
  Decimal number;
  UnitScale scale;
};

Result<Measure, TextError> read_measure(std::string_view text, Dimension wanted) {
  const std::string_view reason = reason_against_bytes(text);
  if (!reason.empty()) return Failure{not_a_quantity(text, reason, wanted)};
  const std::size_t space = text.find(' ');
  const auto number = read_number(text.substr(0, space));
  if (!number) return Failure{not_a_quantity(text, number.error(), wanted)};
  if (space == std::string_view::npos) {
    return Failure{error_of("E-unit-missing", quoted(text) + " has no unit", wanted)};
  }
  const std::string_view unit = text.substr(space + 1);
  if (unit.front() == ' ') return Failure{not_a_quantity(text, "more than one space", wanted)};
  if (unit.front() >= '0' && unit.front() <= '9') return Failure{not_a_quantity(text, "thousands separator", wanted)};
  const auto scale = find_unit(unit, wanted);
  if (!scale) return Failure{unit_error(text, unit, wanted)};
  return Measure{*number, *scale};
}

Decimal offset_of(const UnitScale& scale, bool negative) {
  return decimal_of_digits(negative, std::to_string(scale.offset_hundredths), -2);
}

Decimal to_si(const Measure& measure) {
  Decimal number = measure.number;
  if (measure.scale.offset_hundredths != 0) number = sum(number, offset_of(measure.scale, false));
  number = divided(multiplied(std::move(number), measure.scale.numerator), measure.scale.denominator);
  number.exponent += measure.scale.exponent;
  return number;
}

std::optional<Decimal> from_si(Amount amount, std::string_view unit) {
  const auto scale = find_unit(unit, amount.dimension);
  if (!scale) return std::nullopt;
  Decimal number = divided(multiplied(decimal_of(amount.si), scale->denominator), scale->numerator);
  number.exponent -= scale->exponent;
  if (scale->offset_hundredths != 0) number = sum(number, offset_of(*scale, true));
  return number;
}

}  // namespace

Result<Amount, TextError> parse_amount(std::string_view text, Dimension wanted) {
  const auto measure = read_measure(text, wanted);
  if (!measure) return Failure{measure.error()};
  const Amount amount{wanted, nearest_double(to_si(*measure))};
  const double steps = amount.si / grid_step(wanted);
  const bool comparable = steps < grid_steps_at_most && steps > -grid_steps_at_most;
  if (!comparable) return Failure{error_of("E-number-range", quoted(text) + " is too large to be compared", wanted)};
  if (wanted == Dimension{Base::temperature, Per::none} && amount.si < 0) {
    return Failure{error_of("E-number-range", quoted(text) + " is below absolute zero", wanted)};
  }
  return amount;
}

Result<Duration, TextError> parse_duration(std::string_view text) {
  constexpr Dimension wanted{Base::duration, Per::none};
  const auto measure = read_measure(text, wanted);
  if (!measure) return Failure{measure.error()};
  const auto refused = [&](std::string_view why) {
    return Failure{error_of("E-number-range", quoted(text) + std::string(why), wanted)};
  };
  if (measure->number.negative) return refused(" is negative");
  Decimal ns = to_si(*measure);
  ns.exponent += 9;
  if (const auto whole = whole_number(ns)) return Duration{*whole};
  if (nearest_double(ns) >= 9.2e18) return refused(" is longer than 290 years");
  return refused(" is not a whole number of nanoseconds");
}

Result<double, TextError> parse_number(std::string_view text) {
  const std::string_view reason = reason_against_bytes(text);
  const auto number = read_number(text);
  if (reason.empty() && number) return nearest_double(*number);
  const bool measure = reason.empty() && read_number(text.substr(0, text.find(' ')));
  const std::string why{measure ? "no unit belongs here" : reason.empty() ? number.error() : reason};
  return Failure{TextError{"E-number", quoted(text) + " is not a number (" + why + ")", "number, as in '12.5'", {}}};
}

std::string amount_text(Amount amount, std::string_view unit, int decimals) {
  const auto number = from_si(amount, unit);
  ENSURE(number.has_value());
  return fixed_text(*number, decimals) + " " + std::string(unit);
}

std::optional<double> in_unit(Amount amount, std::string_view unit) {
  const auto number = from_si(amount, unit);
  if (!number) return std::nullopt;
  return nearest_double(*number);
}

std::string_view default_unit(Dimension dimension) {
  switch (dimension.per) {
    case Per::none: return words_of(dimension).usual;
    case Per::second: return words_of(dimension).usual_rate;
    case Per::decade: return words_of(dimension).usual_per_decade;
  }
  return {};
}

std::string dimension_name(Dimension dimension) {
  const std::string name{words_of(dimension).name};
  switch (dimension.per) {
    case Per::none: return name;
    case Per::second: return "rate of " + name;
    case Per::decade: return name + " per decade";
  }
  return name;
}

}  // namespace standfast
