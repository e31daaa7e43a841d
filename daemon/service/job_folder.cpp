#include "daemon/service/job_folder.hpp"

#include <openssl/evp.h>

#include <algorithm>
#include <iterator>
#include <utility>

#include "config/complaints.hpp"
#include "config/finding_text.hpp"
#include "config/load_rig.hpp"
#include "config/load_stages.hpp"
#include "daemon/core/channel_value.hpp"
#include "daemon/service/whole_file.hpp"

namespace standfast {
namespace {

Finding unreadable(const std::string& file, const std::string& why) {
  Finding finding;
  finding.file = file;
  finding.code = "E-file-unreadable";
  finding.message = "the file cannot be read: " + why;
  return finding;
}

void add(Findings& all, Findings more) {
  all.insert(all.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

}  // namespace

std::string hex(const std::string& bytes) {
  constexpr char digits[] = "0123456789abcdef";
  std::string text;
  for (const char byte : bytes) {
    const auto value = static_cast<unsigned char>(byte);
    text += digits[value >> 4];
    text += digits[value & 15];
  }
  return text;
}

std::string sha256_hex(const std::string& bytes) {
  std::string digest(32, '\0');
  unsigned length = 0;
  ENSURE(EVP_Digest(bytes.data(), bytes.size(), reinterpret_cast<unsigned char*>(digest.data()), &length, EVP_sha256(),
                    nullptr) == 1);
  return hex(digest);
}

std::string revision_name(const Job& job) { return sha256_hex(job.rig_sha256 + job.plan_sha256).substr(0, 12); }

std::string Revision::name() const { return revision_name(*job); }

Examined examine(const JobBytes& bytes) {
  Examined examined;
  auto rig = load_rig(bytes.rig, "rig.yaml");
  examined.rig = std::move(rig.findings);
  if (!rig.value) return examined;
  auto plan = load_stages(bytes.plan, "stages.yaml", *rig.value);
  examined.plan = std::move(plan.findings);
  if (!plan.value) return examined;
  auto job = std::make_shared<Job>();
  job->rig = std::move(*rig.value);
  job->plan = std::move(*plan.value);
  job->polls = poll_plan(job->rig);
  job->rig_sha256 = sha256_hex(bytes.rig);
  job->plan_sha256 = sha256_hex(bytes.plan);
  examined.job = std::move(job);
  return examined;
}

Findings overdue_certificates(const Rig& rig, WallTime now) {
  Complaints complaints{"rig.yaml"};
  for (const Channel& channel : rig.channels) {
    if (!certificate_overdue(channel.certificate, now)) continue;
    complaints.add("W-certificate", {channel.place, static_cast<int>(channel.name.size())},
                   "certificate " + channel.certificate.number + " of channel " + channel.name + " was due on " + channel.certificate.due,
                   {channel.certificate.due, "the number and date of a certificate that has not run out", {}});
  }
  return complaints.take();
}

Result<Revision, Findings> make_revision(JobBytes bytes) {
  Examined examined = examine(bytes);
  if (examined.job) return Revision{std::move(bytes), std::move(examined.job)};
  Findings all = std::move(examined.rig);
  add(all, std::move(examined.plan));
  return Failure{std::move(all)};
}

Result<std::string, std::string> read_job_file(const std::string& path) { return read_whole_file(path, job_file_most_bytes); }

Result<JobBytes, Findings> JobFolder::read_bytes() const {
  Findings problems;
  auto rig = read_job_file(rig_path());
  if (!rig) problems.push_back(unreadable("rig.yaml", rig.error()));
  auto plan = read_job_file(plan_path());
  if (!plan) problems.push_back(unreadable("stages.yaml", plan.error()));
  if (!problems.empty()) return Failure{std::move(problems)};
  return JobBytes{std::move(*rig), std::move(*plan)};
}

Result<Revision, Findings> JobFolder::read() const {
  auto bytes = read_bytes();
  if (!bytes) return Failure{bytes.error()};
  return make_revision(std::move(*bytes));
}

FilesOnDisk JobFolder::compare(const std::string& rig_sha256, const std::string& plan_sha256) const {
  const auto differs = [](const std::string& path, const std::string& sha256) {
    const auto bytes = read_job_file(path);
    return !bytes || sha256_hex(*bytes) != sha256;
  };
  return {differs(rig_path(), rig_sha256), differs(plan_path(), plan_sha256)};
}

}  // namespace standfast
