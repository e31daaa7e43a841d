#include <openssl/sha.h>

#include <fstream>
#include <iterator>
#include <optional>

#include "config/finding_text.hpp"
#include "config/load_rig.hpp"
#include "config/load_stages.hpp"
#include "tools/rehearse/run.hpp"

namespace standfast::rehearse {
namespace {

namespace fs = std::filesystem;
constexpr int longest_chain = 20;

std::optional<std::string> bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

std::string sha256(const std::string& bytes) {
  unsigned char digest[SHA256_DIGEST_LENGTH];
  SHA256(reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(), digest);
  constexpr char hex[] = "0123456789abcdef";
  std::string text;
  for (const unsigned char byte : digest) { text += hex[byte >> 4]; text += hex[byte & 15]; }
  return text;
}

template <class T, class Load>
Result<T, std::string> loaded(const fs::path& file, const Load& load) {
  const auto bytes = bytes_of(file);
  if (!bytes) return Failure{file.string() + ": cannot be read\n"};
  auto found = load(*bytes, file.string());
  if (!found.value) return Failure{findings_text(found.findings, *bytes, file.string(), "nothing was rehearsed")};
  return std::move(*found.value);
}

struct Link { fs::path file; Files files; };

// The chain of `follows`, oldest first.
Result<std::vector<Link>, std::string> chain_of(fs::path file) {
  std::vector<Link> chain;
  while (static_cast<int>(chain.size()) < longest_chain) {
    auto files = loaded<Files>(file, files_of);
    if (!files) return Failure{files.error()};
    chain.insert(chain.begin(), {file, *files});
    if (files->follows.empty()) return chain;
    file = file.parent_path() / files->follows;
  }
  return Failure{file.string() + ": more than " + std::to_string(longest_chain) + " rehearsals follow each other\n"};
}

Result<std::shared_ptr<const Job>, std::string> job_of(const Link& first) {
  const fs::path folder = first.file.parent_path();
  const fs::path rig_file = folder / (first.files.rig.empty() ? "rig.yaml" : first.files.rig);
  const fs::path plan_file = folder / (first.files.plan.empty() ? "stages.yaml" : first.files.plan);
  auto job = std::make_shared<Job>();
  auto rig = loaded<Rig>(rig_file, load_rig);
  if (!rig) return Failure{rig.error()};
  job->rig = std::move(*rig);
  auto plan = loaded<Plan>(
      plan_file, [&](const std::string& bytes, const std::string& name) { return load_stages(bytes, name, job->rig); });
  if (!plan) return Failure{plan.error()};
  job->plan = std::move(*plan);
  job->polls = poll_plan(job->rig);
  job->rig_sha256 = sha256(*bytes_of(rig_file));
  job->plan_sha256 = sha256(*bytes_of(plan_file));
  return std::shared_ptr<const Job>(std::move(job));
}

}  // namespace

FileKind kind_of_file(const fs::path& file) {
  const auto bytes = bytes_of(file);
  return bytes ? kind_of(*bytes) : FileKind::unknown;
}

Result<Prepared, std::string> prepare(const fs::path& file) {
  const auto chain = chain_of(file);
  if (!chain) return Failure{chain.error()};
  const auto job = job_of(chain->front());
  if (!job) return Failure{job.error()};
  Prepared prepared{*job, {}};
  for (const Link& link : *chain) {
    auto rehearsal = loaded<Rehearsal>(link.file, [&](const std::string& bytes, const std::string& name) {
      return load_rehearsal(bytes, name, **job);
    });
    if (!rehearsal) return Failure{rehearsal.error()};
    prepared.parts.push_back({link.file.string(), std::move(*rehearsal)});
  }
  return prepared;
}

}  // namespace standfast::rehearse
