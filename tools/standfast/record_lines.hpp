// The record's views read whole, row by row, for a range of time.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "config/instant.hpp"
#include "daemon/record/record_reader.hpp"
#include "tools/standfast/command.hpp"

namespace standfast::client {

// Half open; a side without a bound is open for ever.
struct TimeRange {
  std::optional<WallTime> since, until;
  bool holds(std::int64_t wall_ns) const {
    return (!since || wall_ns >= since->ns) && (!until || wall_ns < until->ns);
  }
};
TimeRange time_range_of(const Arguments& arguments);

class RecordLine {
 public:
  RecordLine(const std::vector<std::string>& columns, const std::vector<std::optional<std::string>>& cells)
      : columns_{columns}, cells_{cells} {}
  // Empty for NULL and for a column that is not there.
  std::string operator[](std::string_view column) const;
  std::int64_t number(std::string_view column) const;

 private:
  const std::vector<std::string>& columns_;
  const std::vector<std::optional<std::string>>& cells_;
};

record::RecordReader open_record(const std::string& job_folder);
// Has any of it ever come from simulated instruments?
bool is_simulated(record::RecordReader& reader);
// Every row of the view, oldest first.
void each_line(record::RecordReader& reader, const std::string& view, const std::function<void(const RecordLine&)>& take);

}  // namespace standfast::client
