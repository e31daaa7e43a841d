// export: the record as tables for a spreadsheet.
#include <boost/json.hpp>
#include <filesystem>
#include <iostream>

#include "config/time_text.hpp"
#include "daemon/record/export_csv.hpp"
#include "drivers/boot_clock.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/record_lines.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {

int export_record(const Arguments& arguments) {
  if (!arguments.has("csv")) throw Trouble{usage, "export wants --csv DIR"};
  const std::filesystem::path folder = arguments.get("csv");
  std::error_code error;
  if (std::filesystem::exists(folder, error) && !(std::filesystem::is_directory(folder, error) && std::filesystem::is_empty(folder, error)))
    throw Trouble{cannot_create, folder.string() + " is there and not an empty folder; an export goes into a new one"};
  const TimeRange range = time_range_of(arguments);
  const std::string job = job_folder_of(arguments);
  auto reader = open_record(job);
  const bool simulated = is_simulated(reader);
  const auto files = record::export_csv(job + "/record.db", folder, {range.since, range.until});
  if (!files) throw Trouble{cannot_create, files.error()};
  if (!arguments.has("json")) std::cout << simulated_heading(simulated);
  boost::json::array list;
  for (const record::ExportedFile& file : *files) {
    if (!arguments.has("json")) std::cout << file.path.string() << "  " << file.lines << " lines\n";
    list.push_back(boost::json::object{{"file", file.path.string()}, {"lines", file.lines}});
  }
  if (arguments.has("json"))
    std::cout << boost::json::serialize(
                     boost::json::object{{"schema", "standfast-export-1"},
                                         {"time", wall_time_text(wall_time_now())},
                                         {"simulated", simulated},
                                         {"files", list}})
              << '\n';
  return done;
}

}  // namespace standfast::client
