#include "config/complaints.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include "config/finding_codes.hpp"

namespace standfast {

namespace {

Finding finding(const std::string& file, std::string_view code, Spot spot, std::string message, Advice advice) {
  Finding result;
  result.file = file;
  result.line = spot.place.line;
  result.column = spot.place.column;
  result.length = std::max(1, spot.length);
  result.severity = severity_of(code);
  result.code = code;
  result.message = std::move(message);
  result.found = std::move(advice.found);
  result.expected = std::move(advice.expected);
  result.nearest = std::move(advice.nearest);
  return result;
}

auto order_of(const Finding& f) { return std::tie(f.line, f.column, f.severity, f.code, f.message); }

}  // namespace

void Complaints::add(std::string_view code, Spot spot, std::string message, Advice advice) {
  if (severity_of(code) == Severity::error) ++errors_;
  Finding next = finding(file_, code, spot, std::move(message), std::move(advice));
  const auto same = [&](const Finding& f) { return order_of(f) == order_of(next); };
  if (std::any_of(found_.begin(), found_.end(), same)) return;
  if (found_.size() < most) found_.push_back(std::move(next));
  else ++not_listed_;
}

Findings Complaints::take() {
  const auto before = [](const Finding& a, const Finding& b) { return order_of(a) < order_of(b); };
  std::stable_sort(found_.begin(), found_.end(), before);
  if (not_listed_ > 0) {
    const Spot last = found_.empty() ? Spot{} : Spot{{found_.back().line, found_.back().column}, 1};
    found_.push_back(finding(file_, "E-too-many-findings", last,
                             "too many findings; " + std::to_string(not_listed_) + " more are not listed",
                             {{}, "mend these first, then check again", {}}));
  }
  return std::exchange(found_, {});
}

}  // namespace standfast
