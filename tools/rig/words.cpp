#include "tools/rig/words.hpp"

namespace standfast::rig {

WordReader::WordReader(std::string_view line) {
  std::string word;
  const auto flush = [&] {
    if (!word.empty()) words_.push_back(word);
    word.clear();
  };
  for (const char c : line) {
    if (c == ' ' || c == '\t' || c == '\r' || c == ',') flush();
    else word += c;
    if (c == ',') words_.emplace_back(",");
  }
  flush();
}

std::string WordReader::next(std::string_view expected) {
  if (ended()) throw Refusal{"the line ends where " + std::string{expected} + " was expected"};
  return words_[at_++];
}

bool WordReader::take(std::string_view word) {
  if (peek() != word) return false;
  ++at_;
  return true;
}

void WordReader::must(std::string_view word) {
  if (!take(word)) throw Refusal{"'" + peek() + "' stands where '" + std::string{word} + "' was expected"};
}

void WordReader::must_end() const {
  if (!ended()) throw Refusal{"'" + peek() + "' was not expected"};
}

double WordReader::amount(Dimension dimension) {
  std::string number = next("a number");
  if (number.starts_with('+')) number.erase(0, 1);
  const auto parsed = parse_amount(number + " " + next("a unit"), dimension);
  if (!parsed) throw Refusal{parsed.error().message + "; expected " + parsed.error().expected};
  return parsed->si;
}

Duration WordReader::duration() {
  const std::string number = next("a time");
  const auto parsed = parse_duration(number + " " + next("a unit of time"));
  if (!parsed) throw Refusal{parsed.error().message + "; expected " + parsed.error().expected};
  return *parsed;
}

}  // namespace standfast::rig
