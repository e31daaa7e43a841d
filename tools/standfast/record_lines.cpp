#include "tools/standfast/record_lines.hpp"

#include <charconv>
#include <filesystem>

#include "drivers/boot_clock.hpp"
#include "tools/standfast/local_time.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

constexpr std::size_t page = 10'000;

std::optional<WallTime> time_of(const Arguments& arguments, const std::string& option) {
  if (!arguments.has(option)) return std::nullopt;
  const auto time = LocalTime{arguments}.typed(arguments.get(option), wall_time_now());
  if (!time) throw Trouble{usage, "--" + option + " '" + arguments.get(option) + "' is no time: 2027-03-01T07:15:00Z, 14:32 or -10min"};
  return time;
}

}  // namespace

TimeRange time_range_of(const Arguments& arguments) { return {time_of(arguments, "since"), time_of(arguments, "until")}; }

std::string RecordLine::operator[](std::string_view column) const {
  for (std::size_t i = 0; i < columns_.size(); ++i)
    if (columns_[i] == column) return cells_[i].value_or(std::string{});
  return {};
}

std::int64_t RecordLine::number(std::string_view column) const {
  const std::string text = (*this)[column];
  std::int64_t number = 0;
  std::from_chars(text.data(), text.data() + text.size(), number);
  return number;
}

record::RecordReader open_record(const std::string& job_folder) {
  if (!std::filesystem::is_directory(job_folder))
    throw Trouble{no_input, job_folder + (std::filesystem::exists(job_folder) ? " is a file; what is wanted is the folder of a job"
                                                                              : ": there is no such folder")};
  const std::string path = job_folder + "/record.db";
  if (!std::filesystem::exists(path)) throw Trouble{no_input, job_folder + ": nothing has been recorded here, there is no record.db"};
  auto reader = record::RecordReader::open(path);
  if (!reader) throw Trouble{bad_input, reader.error()};
  return std::move(*reader);
}

bool is_simulated(record::RecordReader& reader) {
  bool simulated = false;
  each_line(reader, "about", [&](const RecordLine& line) { simulated = simulated || line["simulated"] == "1"; });
  return simulated;
}

void each_line(record::RecordReader& reader, const std::string& view, const std::function<void(const RecordLine&)>& take) {
  std::int64_t after = 0;
  while (true) {
    const auto lines = reader.lines(view, after, page);
    if (!lines) throw Trouble{io, view + ": " + lines.error()};
    for (const auto& cells : lines->rows) take(RecordLine{lines->columns, cells});
    if (lines->rows.size() < page) return;
    after = RecordLine{lines->columns, lines->rows.back()}.number("seq");
  }
}

}  // namespace standfast::client
