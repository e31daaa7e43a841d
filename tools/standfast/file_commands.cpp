// check, offer, adopt: the files of a job. `check` needs no daemon.
#include <filesystem>
#include <iostream>

#include "config/finding_text.hpp"
#include "config/load_stages.hpp"
#include "config/plan_check.hpp"
#include "daemon/core/stage_run.hpp"
#include "daemon/service/job_folder.hpp"
#include "drivers/boot_clock.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/findings.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {

int check(const Arguments& arguments) {
  if (!std::filesystem::is_directory(arguments.operand(0)))
    throw Trouble{no_input, arguments.operand(0) + (std::filesystem::exists(arguments.operand(0))
                                ? " is a file; `check` wants the folder that holds rig.yaml and stages.yaml"
                                : ": there is no such folder")};
  const JobFolder folder{arguments.operand(0)};
  const auto bytes = folder.read_bytes();
  if (!bytes) {
    for (const Finding& finding : bytes.error()) std::cerr << folder.path() << '/' << finding.file << ": " << finding.message << '\n';
    return no_input;
  }
  Examined examined = examine(*bytes);
  std::string cost;
  if (examined.job) {
    const PlanCheck plan = check_plan(examined.job->rig, examined.job->plan, "stages.yaml");
    const Findings overdue = overdue_certificates(examined.job->rig, wall_time_now());
    examined.rig.insert(examined.rig.end(), overdue.begin(), overdue.end());
    examined.plan.insert(examined.plan.end(), plan.findings.begin(), plan.findings.end());
    cost = plan_check_text(plan, examined.job->rig, examined.job->plan);
  }
  const bool plan_read = !has_error(examined.rig);
  const std::vector<Looked> files{{"rig.yaml", bytes->rig, examined.rig}, {"stages.yaml", bytes->plan, examined.plan, plan_read}};
  const int code = tell_findings(arguments, files, examined.job ? "" : "this job cannot come into force");
  if (arguments.has("json") || !examined.job) return code;
  std::cout << simulated_heading(examined.job->rig.simulated);
  for (const Stage& each : examined.job->plan.stages)
    if (!is_in_this_version(each.kind))
      std::cout << "stage " << each.name << ": stages of kind " << stage_kind_word(each.kind) << " cannot be entered in this version\n";
  std::cout << cost << "revision " << revision_name(*examined.job) << " (rig " << examined.job->rig_sha256.substr(0, 12) << ", plan "
            << examined.job->plan_sha256.substr(0, 12) << ")\n";
  return code;
}

int offer(const Arguments& arguments) { return act_on_files(arguments, "offer", {}); }

int adopt(const Arguments& arguments) { return act_on_files(arguments, "adopt", arguments.operand(0)); }

}  // namespace standfast::client
