// Carries records from one build to another:
//
//   records write FOLDER REHEARSAL...   each rehearsal as a record, FOLDER/<name>.db
//   records replay FOLDER               every record there decided again by this build; ends with 1 at the first difference
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <string>

#include "daemon/core/engine.hpp"
#include "daemon/record/record_reader.hpp"
#include "daemon/service/job_folder.hpp"
#include "daemon/service/journal.hpp"
#include "daemon/service/replay.hpp"
#include "tools/rehearse/run.hpp"

namespace fs = std::filesystem;
using namespace standfast;

namespace {

int fail(const std::string& why) {
  std::fprintf(stderr, "%s\n", why.c_str());
  return 1;
}

Result<Revision, std::string> revision_of(const rehearse::Prepared& prepared) {
  const rehearse::Prepared::Part& first = prepared.parts.front();
  const fs::path folder = fs::path(first.file).parent_path();
  const auto bytes = [&](const std::string& stated, const char* usual) {
    return read_job_file((folder / (stated.empty() ? usual : stated)).string());
  };
  const auto rig = bytes(first.rehearsal.rig_file, "rig.yaml"), plan = bytes(first.rehearsal.plan_file, "stages.yaml");
  if (!rig) return Failure{rig.error()};
  if (!plan) return Failure{plan.error()};
  auto revision = make_revision({*rig, *plan});
  if (!revision) return Failure{revision.error().front().message};
  return std::move(*revision);
}

class Keeping {
 public:
  Keeping(record::RecordWriter& writer, Revision revision) : journal_{{&writer, {}, {}}, where()}, revision_{std::move(revision)} {}

  void keep(const Event& event) {
    if (std::holds_alternative<JobInForce>(event.what)) journal_.write_revision(revision_, event);
    const Effects effects = engine_.apply(event);
    journal_.write(event, effects, [this] { return engine_.snapshot(); });
  }

 private:
  static record::Where where() {
    record::Where where;
    where.span = 1;
    where.host = "any";
    return where;
  }
  Engine engine_;
  Journal journal_;
  Revision revision_;
};

int write_one(const fs::path& folder, const fs::path& file) {
  const auto prepared = rehearse::prepare(file);
  if (!prepared) return fail(prepared.error());
  auto revision = revision_of(*prepared);
  if (!revision) return fail(revision.error());
  const fs::path record = folder / (file.stem().string() + ".db");
  auto writer = record::RecordWriter::open(record, {true, file.stem(), "compare", "any", WallTime{1}});
  if (!writer) return fail(writer.error().text);
  Keeping keeping{**writer, std::move(*revision)};
  rehearse::run(*prepared, [&](const Event& event, const Effects&) { keeping.keep(event); });
  const bool whole = (*writer)->close();
  fs::remove(record.string() + ".ballast");
  return whole ? 0 : fail(record.string() + ": not everything is on disk");
}

int replay_one(const fs::path& record) {
  auto reader = record::RecordReader::open(record);
  if (!reader) return fail(reader.error());
  const auto replayed = replay(*reader, ReplayFrom::start);
  if (!replayed) return fail(record.string() + ": " + replayed.error());
  if (replayed->first_difference)
    return fail(record.string() + ": row " + std::to_string(replayed->first_difference->seq) + "\n  recorded: " +
                replayed->first_difference->recorded + "\n  replayed: " + replayed->first_difference->replayed);
  std::printf("%s: %lld events, %lld decisions\n", record.filename().c_str(), static_cast<long long>(replayed->events),
              static_cast<long long>(replayed->decisions));
  return replayed->decisions > 0 ? 0 : fail(record.string() + ": no decision");
}

}  // namespace

int main(int argc, char** argv) {
  const std::string what = argc > 2 ? argv[1] : "";
  int worst = what == "write" || what == "replay" ? 0 : fail("records write FOLDER REHEARSAL... or records replay FOLDER");
  if (what == "write")
    for (int i = 3; i < argc; ++i) worst |= write_one(argv[2], argv[i]);
  if (what == "replay")
    for (const auto& entry : fs::directory_iterator(argv[2]))
      if (entry.path().extension() == ".db") worst |= replay_one(entry.path());
  return worst;
}
