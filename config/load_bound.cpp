// Reads a bound: TERM { plus | minus TERM }, a term being an amount, a reference, or a percentage of a reference.
#include <algorithm>

#include "config/plan_draft.hpp"
#include "config/quoted.hpp"
#include "config/unit_text.hpp"

namespace standfast {

namespace {

constexpr Word<Reference> reference_words[] = {
    {"target", Reference::target}, {"full target", Reference::full_target}, {"rated", Reference::rated},
    {"column_load", Reference::column_expected}, {"low column_load", Reference::column_low},
    {"high column_load", Reference::column_high}, {"share", Reference::planned_share}, {"stroke", Reference::stroke}};

constexpr std::string_view form =
    "an amount, a reference (target, full target, rated, column_load, low column_load, high column_load, share, "
    "stroke), "
    "or a percentage of one, joined by plus or minus";

// Has this quantity such a thing? A sum has a target and the column's load, a single jack has all that is a jack's.
bool has_reference(const QuantityRef& of, Reference reference) {
  if (of.dimension.per != Per::none) return false;
  const bool one_jack = entry_of(of.kind).argument == Argument::jack;
  const bool is_force = of.dimension.base == Base::force && of.kind != QuantityKind::channel;
  switch (reference) {
    case Reference::target: return is_force && of.kind != QuantityKind::load_lost;
    case Reference::full_target: return is_force;
    case Reference::rated: return is_force && one_jack;
    case Reference::column_low: case Reference::column_expected: case Reference::column_high: return is_force;
    case Reference::planned_share: return of.kind == QuantityKind::share;
    case Reference::stroke: return of.dimension.base == Base::length && one_jack;
  }
  return false;
}

struct Piece {
  std::string_view text;
  double sign;
};

std::vector<Piece> pieces_of(std::string_view text) {
  std::vector<Piece> pieces;
  double sign = 1;
  while (true) {
    const std::size_t plus = text.find(" plus "), minus = text.find(" minus ");
    const std::size_t end = std::min(plus, minus);
    pieces.push_back({text.substr(0, end), sign});
    if (end == std::string_view::npos) return pieces;
    sign = plus < minus ? 1 : -1;
    text.remove_prefix(end + (plus < minus ? 6 : 7));
  }
}

class BoundReader {
 public:
  BoundReader(const YamlNode& node, const QuantityRef& of, Complaints& complaints)
      : node_{node}, of_{of}, complaints_{complaints} {}

  std::optional<Bound> read() {
    const auto pieces = pieces_of(node_.text);
    if (pieces.size() > 4) return refuse("E-bound", quoted(node_.text) + " has more than 4 parts");
    for (const Piece& piece : pieces) {
      if (!add(piece)) return std::nullopt;
    }
    return bound_;
  }

 private:
  std::optional<Bound> refuse(std::string_view code, std::string message, std::string nearest = {}) {
    complaints_.add(code, node_.spot, std::move(message), {node_.text, std::string{form}, std::move(nearest)});
    return std::nullopt;
  }

  bool add(const Piece& piece) {
    const std::size_t of = piece.text.find(" of ");
    if (of != std::string_view::npos) return add_percentage(piece, piece.text.substr(0, of), piece.text.substr(of + 4));
    if (const auto* word = find_reference(piece.text)) return add_reference(*word, piece.sign);
    const bool looks_like_amount =
        !piece.text.empty() && (piece.text.front() == '-' || (piece.text.front() >= '0' && piece.text.front() <= '9'));
    if (!looks_like_amount) return refuse_word(piece.text);
    const auto amount = parse_amount(piece.text, of_.dimension);
    if (amount) bound_.constant += piece.sign * amount->si;
    else
      complaints_.add(amount.error().code, node_.spot, amount.error().message,
                      {node_.text, amount.error().expected, amount.error().nearest});
    return static_cast<bool>(amount);
  }

  bool add_percentage(const Piece& piece, std::string_view percent, std::string_view reference) {
    const auto ratio = parse_amount(percent, {Base::ratio, Per::none});
    if (!ratio) {
      complaints_.add(ratio.error().code, node_.spot, ratio.error().message,
                      {node_.text, ratio.error().expected, ratio.error().nearest});
      return false;
    }
    const auto* word = find_reference(reference);
    return word == nullptr ? refuse_word(reference) : add_reference(*word, piece.sign * ratio->si);
  }

  bool add_reference(const Word<Reference>& word, double factor) {
    if (has_reference(of_, word.value)) {
      bound_.terms.push_back({factor, word.value});
      return true;
    }
    complaints_.add("E-bound-reference", node_.spot,
                    quoted(entry_of(of_.kind).name) + " has no " + quoted(word.text) + (of_.rate ? " as a rate" : ""),
                    {node_.text,
                     "an amount in a unit of " + dimension_name(of_.dimension) + ", or what belongs to this quantity",
                     {}});
    return false;
  }

  bool refuse_word(std::string_view text) {
    std::vector<std::string_view> words;
    for (const Word<Reference>& word : reference_words) words.push_back(word.text);
    refuse("E-bound", quoted(text) + " is neither an amount nor a reference", std::string{nearest_word(text, words)});
    return false;
  }

  static const Word<Reference>* find_reference(std::string_view text) {
    const auto found = std::find_if(std::begin(reference_words), std::end(reference_words),
                                    [&](const Word<Reference>& word) { return word.text == text; });
    return found == std::end(reference_words) ? nullptr : &*found;
  }

  const YamlNode& node_;
  const QuantityRef& of_;
  Complaints& complaints_;
  Bound bound_;
};

}  // namespace

std::optional<Bound> read_bound(const YamlNode* node, const QuantityRef& of, Complaints& complaints) {
  if (read_scalar(node, form, complaints) == nullptr) return std::nullopt;
  return BoundReader{*node, of, complaints}.read();
}

Bound negated(Bound bound) {
  for (Term& term : bound.terms) term.factor = -term.factor;
  bound.constant = -bound.constant;
  return bound;
}

}  // namespace standfast
