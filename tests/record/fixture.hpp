// A folder that goes again, a small job with every kind of raw value, and events and effects of every kind.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "daemon/record/record_writer.hpp"
#include "daemon/record/rows.hpp"

namespace standfast::testing {

class Folder {
 public:
  Folder();
  ~Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::filesystem::path record() const { return path / "record.db"; }
  std::filesystem::path path;
};

inline const record::About about{true, "Grain store, column C4", "standfast 0.1.0", "test bench",
                                 WallTime{1'700'000'000'000'000'000}};

// Blocks: 0 registers of every type in both orders, 1 coils, 2 a line of text.
std::shared_ptr<const Job> sample_job();
inline const record::RevisionBytes sample_bytes{"rig: Grain store, column C4\n", "plan: {title: Column C4}\n"};

Event at(std::int64_t at_ns, decltype(Event::what) what);
std::vector<Event> sample_events();       // One of each kind, the start and the job in force first.
std::vector<EffectRow> sample_effects();  // One of each kind.

// The start, the revision and the job in force: what must stand before anything else.
std::vector<record::Row> opening_rows(std::int64_t span = 1);
record::Row notice_row(std::int64_t number, std::int64_t span = 1);  // Its text is "row NUMBER".

// A writer without ballast, so that tests need no room.
class SmallSeam : public record::WriterSeam {
 public:
  std::int64_t ballast() const override { return 0; }
};

std::unique_ptr<record::RecordWriter> open_writer(const std::filesystem::path& path, std::function<void()> notify = {},
                                                  std::shared_ptr<record::WriterSeam> seam = std::make_shared<SmallSeam>(),
                                                  std::shared_ptr<const record::Signer> signer = {});
std::shared_ptr<const record::Signer> sample_signer();
// A whole record of all sample events and effects, with a checkpoint near its beginning and one at its end, closed.
void write_sample(const std::filesystem::path& path);

// All of it one after the other: SQL's answer as text, rows by ';', columns by '|'.
std::string ask(const std::filesystem::path& path, const std::string& sql);
// Changes the record behind its back: triggers dropped, `sql` run, triggers made again.
void tamper(const std::filesystem::path& path, const std::string& sql);
// What somebody does who has everything but the key: computes every seal again.
void seal_again(const std::filesystem::path& path);

}  // namespace standfast::testing
