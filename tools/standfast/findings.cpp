#include "tools/standfast/findings.hpp"

#include <algorithm>
#include <iostream>

#include "config/finding_text.hpp"
#include "config/time_text.hpp"
#include "daemon/service/act_request.hpp"
#include "drivers/boot_clock.hpp"
#include "tools/standfast/exit_code.hpp"
#include "tools/standfast/json_text.hpp"

namespace standfast::client {
namespace json = boost::json;

namespace {

// Nothing where the whole file is meant.
std::string place_of(const json::object& finding) {
  const std::string line = text_at(finding, "line");
  return line == "0" ? "" : ":" + line + ":" + text_at(finding, "column");
}

}  // namespace

int tell_findings(const Arguments& arguments, const std::vector<Looked>& files, const std::string& consequence) {
  Findings all;
  for (const Looked& file : files) all.insert(all.end(), file.findings.begin(), file.findings.end());
  if (arguments.has("json")) {
    std::cout << reply_of(all).body << '\n';
  } else {
    for (const Looked& file : files) {
      const bool hinders = has_error(file.findings);
      if (file.looked_at) std::cout << findings_text(file.findings, file.bytes, file.file, hinders ? consequence : "");
      else std::cout << file.file << ": not looked at yet: it speaks of what the file before it names, so mend that first\n";
    }
  }
  return has_error(all) ? findings : done;
}

int tell_findings(const Arguments& arguments, const json::object& answer) {
  if (arguments.has("json")) std::cout << json::serialize(answer) << '\n';
  else
    for (const json::value& each : array_at(answer, "findings")) {
      const json::object& finding = each.as_object();
      std::cerr << text_at(finding, "file") << place_of(finding) << ": " << text_at(finding, "severity") << ": "
                << text_at(finding, "message") << " [" << text_at(finding, "code") << "]\n";
    }
  if (!arguments.has("json")) std::cerr << "nothing was changed; `standfast check` shows each with its line\n";
  return findings;
}

}  // namespace standfast::client
