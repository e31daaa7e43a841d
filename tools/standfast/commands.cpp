#include "tools/standfast/commands.hpp"

namespace standfast::client {
namespace {

const Option as{"as", "NAME", "who acts; a name on the station's list of people"};
const Option second{"second", "NAME", "the second person, where two are needed"};
const Option reason{"reason", "TEXT", "why"};
const Option seen{"seen", "NUMBER", "the picture this is decided on, as `status` shows it; default: the newest"};
const Option job{"job", "DIR", "the job's folder; default: that of the running daemon"};
const Option since{"since", "TIME", "from then on: 2027-03-01T07:15:00Z, 14:32, -10min"};
const Option until{"until", "TIME", "before then"};
const Option every{"every", "SECONDS", "how often, 1 to 60; default 1"};

const Command table[] = {
    {"check", "JOB", 1, 1, "look through rig.yaml and stages.yaml and say all that is wrong with them", {},
     "standfast check grain-store", check},
    {"offer", "", 0, 0, "offer the files in the job's folder for adoption", {as, seen},
     "standfast offer --as 'P. Reed'", offer},
    {"adopt", "REVISION", 1, 1, "put an offered revision in force (engineer and a second person)", {as, second, reason, seen},
     "standfast adopt 3f0c11aa92be --as 'E. Quill' --second 'S. Vane'", adopt},
    {"status", "", 0, 0, "one screen: signal, permit, stage, loads, limits; exit code 0 or 3 to 6", {},
     "standfast status\nstandfast status --json", status},
    {"watch", "", 0, 0, "status, drawn anew every second", {every}, "standfast watch", watch},
    {"limits", "", 0, 0, "every limit in force with its value and how much of it is used", {}, "standfast limits", limits},
    {"alarms", "", 0, 0, "the open alarms, oldest first", {}, "standfast alarms", alarms},
    {"readings", "[CHANNEL]...", 0, 1000, "the newest reading of each instrument, with age and quality", {},
     "standfast readings\nstandfast readings P1 P2", readings},
    {"events", "", 0, 0, "what happened, from the record", {job, since, until},
     "standfast events --since -10min", events},
    {"acknowledge", "ALARM|all", 1, 1, "say that an alarm has been seen; anybody, resets nothing", {as},
     "standfast acknowledge all", acknowledge},
    {"silence", "[DURATION]", 0, 1, "quieten the sounder for a while, at most 120 s; anybody", {as},
     "standfast silence 60s", silence},
    {"stop", "[REASON]...", 0, 100, "call STOP: the permit goes at once, no pressure is let out; anybody", {as},
     "standfast stop\nstandfast stop crack at needle 2", stop},
    {"reset", "ALARM|all", 1, 1, "end a latched alarm whose condition is gone; gives no permit", {as, second, reason, seen},
     "standfast reset 12 --as 'S. Vane' --reason 'gauge plugged in again'", reset},
    {"permit", "raise|top-up|lower|commission|recover|end [WHAT]...", 1, 100, "give or end the permit for named circuits or jacks",
     {as, second, reason, seen},
     "standfast permit raise A B --as 'S. Vane'\nstandfast permit recover J1 J3 up to 200 kN further 0.2 mm --as 'E. Quill' --second "
     "'S. Vane'\nstandfast permit end",
     permit},
    {"stage", "show|enter|propose|approve|abandon|skip [STAGE]", 1, 100, "the stages of the plan and their gates",
     {as, second, reason, seen},
     "standfast stage show\nstandfast stage enter 'Preload 50 %' --as 'S. Vane'\nstandfast stage approve --as 'E. Quill'", stage},
    {"accept", "CHANNEL", 1, 1, "use a doubtful instrument for a permit (engineer, by name)", {as, reason, seen},
     "standfast accept P1 --as 'E. Quill' --reason 'certificate renewed, paper on site'", accept},
    {"prove", "[PROOF]", 0, 1, "begin a proof of the outputs; without a name: list them", {as}, "standfast prove\nstandfast prove heartbeat --as 'T. Marsh'",
     prove},
    {"zero", "propose|approve CHANNEL", 2, 2, "set a travel gauge's display to nought; moves no limit", {as, second, reason, seen},
     "standfast zero propose G1 --as 'T. Marsh' --second 'S. Vane'", zero},
    {"enter", "SUBJECT TEXT...", 2, 100, "write something down: a gap, a shim, a crack, a note", {as},
     "standfast enter note 'shims packed at C4 north' --as 'T. Marsh'", enter},
    {"shift", "end", 1, 1, "end the shift: the permit ends with it", {as}, "standfast shift end --as 'S. Vane'", shift},
    {"export", "", 0, 0, "write the record as CSV into a new folder", {{"csv", "DIR", "the folder to write"}, job, since, until},
     "standfast export --csv /media/stick/C4 --since -1d", export_record},
    {"replay", "JOB", 1, 1, "decide everything again from the record; exit code 1 and the first difference if it differs",
     {{"newest-snapshot", "", "only what follows the newest snapshot; default: from the first event"}}, "standfast replay grain-store", replay},
    {"rehearse", "FILE...", 1, 1000, "run rehearsals of a plan in simulated time; exit code 1 if one does not go as it says", {},
     "standfast rehearse grain-store/rehearsals/*.yaml", rehearse_plan},
    {"people", "add|end|list [NAME]", 1, 2, "the station's list of people and their roles",
     {as, {"role", "ROLE", "technician, supervisor, engineer, auditor or surveyor"}},
     "standfast people add 'E. Quill' --role engineer\nstandfast people list", people},
};

}  // namespace

std::span<const Command> commands() { return table; }

std::string Arguments::rest(std::size_t place) const {
  std::string all;
  for (std::size_t i = place; i < operands.size(); ++i) all += (i > place ? " " : "") + operands[i];
  return all;
}

}  // namespace standfast::client
