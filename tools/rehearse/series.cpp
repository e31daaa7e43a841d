#include "tools/rehearse/series.hpp"

namespace standfast::rehearse {
namespace {

using Text = std::string_view;

Text trimmed(Text text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return text;
}

TextError unreadable(Text part) {
  return {"E-number", "'" + std::string(part) + "' is no part of a series",
          "as in '0.2 mm for 10 s', 'to 0.6 mm in 5 s', 'missing for 3 s', 'dead for 3 s'", {}};
}

// `text` ends in ` for TIME` or ` in TIME`: cuts it off. The last such word counts: no unit is called so.
Result<std::optional<Duration>, TextError> cut_time(Text& text, Text word) {
  const std::size_t at = text.rfind(word);
  if (at == Text::npos) return std::optional<Duration>{};
  const auto time = parse_duration(text.substr(at + word.size()));
  if (!time) return Failure{time.error()};
  text = trimmed(text.substr(0, at));
  return std::optional<Duration>{*time};
}

Result<Part, TextError> read_part(Text text, Dimension dimension) {
  const Text whole = text;
  Part part;
  const bool ramp = text.starts_with("to ");
  auto time = cut_time(text, ramp ? " in " : " for ");
  if (!time) return Failure{time.error()};
  part.lasts = *time;
  if (text == "missing") { part.shape = Shape::missing; return part; }
  if (text == "dead") { part.shape = Shape::dead; return part; }
  if (ramp) {
    part.shape = Shape::ramp;
    text = trimmed(text.substr(3));
    if (!part.lasts) return Failure{unreadable(whole)};
  }
  const auto amount = parse_amount(text, dimension);
  if (!amount) return Failure{amount.error()};
  part.value = amount->si;
  return part;
}

// Missing and dead parts leave the value where it was.
double value_before(const Series& series, std::size_t place) {
  for (std::size_t i = place; i-- > 0;)
    if (series.parts[i].shape == Shape::still || series.parts[i].shape == Shape::ramp) return series.parts[i].value;
  return 0;
}

Shown shown_in(const Series& series, std::size_t place, Duration into) {
  const Part& part = series.parts[place];
  if (part.shape != Shape::ramp) return {part.shape, part.value};
  const double from = value_before(series, place);
  return {Shape::still, from + (part.value - from) * (into.seconds() / part.lasts->seconds())};
}

}  // namespace

Result<Series, TextError> read_series(Text text, Dimension dimension) {
  Series series;
  while (true) {
    const std::size_t comma = text.find(',');
    const Text part_text = trimmed(text.substr(0, comma));
    if (!series.parts.empty() && !series.parts.back().lasts) return Failure{unreadable(part_text)};
    auto part = read_part(part_text, dimension);
    if (!part) return Failure{part.error()};
    series.parts.push_back(*part);
    if (comma == Text::npos) return series;
    text = text.substr(comma + 1);
  }
}

Shown shown_at(const Series& series, Duration since_start) {
  Duration at{};
  for (std::size_t i = 0; i < series.parts.size(); ++i) {
    const auto& lasts = series.parts[i].lasts;
    if (!lasts || since_start < at + *lasts) return shown_in(series, i, since_start - at);
    at = at + *lasts;
  }
  const Part& last = series.parts.back();
  return last.shape == Shape::ramp ? Shown{Shape::still, last.value} : Shown{last.shape, last.value};
}

}  // namespace standfast::rehearse
