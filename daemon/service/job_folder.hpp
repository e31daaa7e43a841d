// The files a job is made of, as they lie in its folder. The daemon decides on accepted bytes only; this reads what could
// become accepted, and notices when it differs from what is in force.
#pragma once

#include <memory>
#include <string>

#include "config/finding.hpp"
#include "config/result.hpp"
#include "daemon/core/event.hpp"

namespace standfast {

struct JobBytes { std::string rig, plan; };

// Bytes and what they say. The job is null where a finding is an error.
struct Examined {
  std::shared_ptr<const Job> job;
  Findings rig, plan;  // In file order; the plan's only where the rig could be loaded.
};
// Every check a job must pass before it may be in force.
Examined examine(const JobBytes& bytes);

// What only a calendar tells of rig.yaml: a warning for each certificate that has run out by then. In force, such a channel is
// doubted by the core; this is for who writes the file, before it is.
Findings overdue_certificates(const Rig& rig, WallTime now);

// Both files at one moment: their bytes, and the job they make.
struct Revision {
  JobBytes bytes;
  std::shared_ptr<const Job> job;

  // What people call it: the first twelve digits of the SHA-256 over the SHA-256 of both files.
  std::string name() const;
};
std::string revision_name(const Job& job);
Result<Revision, Findings> make_revision(JobBytes bytes);

inline constexpr std::size_t job_file_most_bytes = 1 << 20;

std::string hex(const std::string& bytes);  // Lower case.
std::string sha256_hex(const std::string& bytes);

// The whole file, or why not. A file longer than `job_file_most_bytes`, a directory, a missing file are refused.
Result<std::string, std::string> read_job_file(const std::string& path);

class JobFolder {
 public:
  explicit JobFolder(std::string path) : path_{std::move(path)} {}

  const std::string& path() const { return path_; }
  std::string rig_path() const { return path_ + "/rig.yaml"; }
  std::string plan_path() const { return path_ + "/stages.yaml"; }
  std::string record_path() const { return path_ + "/record.db"; }
  std::string lock_path() const { return path_ + "/standfastd.lock"; }

  // A file that cannot be read is a finding.
  Result<JobBytes, Findings> read_bytes() const;
  Result<Revision, Findings> read() const;

  // Which files are not those of the job in force. A file that cannot be read counts as different.
  FilesOnDisk compare(const std::string& rig_sha256, const std::string& plan_sha256) const;

 private:
  std::string path_;
};

}  // namespace standfast
