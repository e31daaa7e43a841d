#include "tests/support/effects_text.hpp"

#include <charconv>
#include <type_traits>

namespace standfast::test {
namespace {

// One value behind the other. Every field that is added to a row has to be added here too: the order is the struct's.
class Line {
 public:
  template <class... T>
  explicit Line(const char* kind, const T&... fields) : text_{kind} {
    (add(fields), ...);
  }
  std::string text_;

 private:
  template <class T>
  void add(const T& field) {
    text_ += ' ';
    if constexpr (std::is_same_v<T, bool>) text_ += field ? "yes" : "no";
    else if constexpr (std::is_enum_v<T>) text_ += std::to_string(static_cast<int>(field));
    else if constexpr (std::is_floating_point_v<T>) number(field);
    else if constexpr (std::is_integral_v<T>) text_ += std::to_string(field);
    else if constexpr (std::is_same_v<T, std::string>) text_ += '"' + field + '"';
    else if constexpr (std::is_same_v<T, Duration> || std::is_same_v<T, Instant>) text_ += std::to_string(field.ns);
    else if constexpr (std::is_same_v<T, OutputImage>) for (const bool on : field.on) text_ += on ? '1' : '0';
    else if constexpr (std::is_same_v<T, Amount>) number(field.si);
    else if constexpr (std::is_same_v<T, Reading>)
      text_ += Line("reading", field.quality, field.cause, field.value, field.uncertainty, field.saturated,
                    field.inferred, field.oldest, field.newest)
                   .text_;
    else if (field) add(*field);
    else text_ += '-';
  }
  void number(double value) {
    char digits[40];
    text_.append(digits, std::to_chars(digits, digits + sizeof digits, value).ptr);
  }
};

struct Teller {
  std::string operator()(const AlarmChange& r) const {
    return Line("alarm", r.number, r.subject, r.cause, r.level, r.from, r.to, r.first_out, r.value, r.bound, r.say, r.by).text_;
  }
  std::string operator()(const SignalChange& r) const { return Line("signal", r.from, r.to, r.cause, r.subject).text_; }
  std::string operator()(const PermitChange& r) const {
    return Line("permit", r.kind, r.given, r.cause, r.stage, r.step, r.circuits, r.by, r.second).text_;
  }
  std::string operator()(const StageChange& r) const { return Line("stage", r.stage, r.step, r.from, r.to, r.by, r.second, r.facts).text_; }
  std::string operator()(const OutputChange& r) const { return Line("outputs", r.wanted, r.gives, r.heartbeat_withheld).text_; }
  std::string operator()(const ActionAnswer& r) const { return Line("answer", r.what, r.accepted, r.code, r.text).text_; }
  std::string operator()(const Notice& r) const { return Line("notice", r.code, r.text).text_; }
  std::string operator()(const MarkTaken& r) const { return Line("mark", r.mark, r.point, r.mean, r.standard_error, r.readings).text_; }
  std::string operator()(const ReadingSet& r) const { return Line("readings", r.stage, r.step, r.after, r.values).text_; }
  std::string operator()(const ProofResult& r) const { return Line("proof", r.proof, r.passed, r.facts).text_; }
  std::string operator()(const DerivedValue& r) const { return Line("derived", r.quantity, r.reading).text_; }
  std::string operator()(const SnapshotDue& r) const { return Line("snapshot", r.why).text_; }
};

}  // namespace

std::string text_of(const EffectRow& row) { return std::visit(Teller{}, row); }

std::string rows_text(const Effects& effects) {
  std::string text;
  for (std::size_t i = 0; i < effects.rows.size(); ++i)
    text += std::to_string(effects.instants.at(i).ns) + ' ' + text_of(effects.rows[i]) + '\n';
  return text;
}

std::string standing_text(const Effects& effects) {
  return Line("wanted", effects.wanted, effects.sound, effects.withhold_heartbeat, effects.next).text_ + '\n';
}

}  // namespace standfast::test
