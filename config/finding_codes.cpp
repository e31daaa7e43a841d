#include "config/finding_codes.hpp"

#include "config/ensure.hpp"

namespace standfast {

namespace {

constexpr auto loader = RefusedBy::loader;
constexpr auto schema = RefusedBy::schema_as_well;

constexpr CodeEntry table[] = {
    // The text.
    {"E-file-unreadable", loader, "the file is not there or cannot be read", "stages.yaml of another owner, mode 0600"},
    {"E-file-size", loader, "a file of more than 256 KiB is not read", "a log pasted into the plan"},
    {"E-encoding", loader, "the file is not UTF-8, or begins with a byte order mark", "saved as Latin-1 or UTF-16"},
    {"E-line-end", loader, "lines end with a line feed alone", "a carriage return from another system's editor"},
    {"E-tab", loader, "tabs look like spaces and are not", "a line indented with a tab"},
    {"E-control-character", loader, "a character that cannot be seen, or turns the direction of writing", "a NUL byte"},
    {"E-line-long", loader, "a line of more than 1000 bytes", "the whole plan on one line"},
    {"E-cut-short", loader, "the last line has no line end, so the file may be cut short", "a copy that was broken off"},
    {"E-directive", loader, "a line that begins with '%' tells the parser something", "%YAML 1.1"},
    {"E-yaml", loader, "the text is not YAML", "a bracket that is never closed"},
    {"E-empty-file", loader, "the file holds comments at most", "# nothing here yet"},
    {"E-second-document", loader, "a file holds one document; a second would be overlooked", "--- in the middle"},
    {"E-anchor", loader, "what is repeated is written out, so that each place reads by itself", "hold: *same"},
    {"E-tag", loader, "a tag changes what a value means", "rated: !!str 665"},
    {"E-merge-key", loader, "what is merged is written out", "<<: *common"},
    {"E-key-twice", loader, "a key given twice: which one counts would be a guess", "two lines 'rated: ...' in one jack"},
    {"E-key-kind", loader, "a key is a word", "? [a, b]"},
    {"E-block-text", loader, "texts stand on one line", "say: |"},
    {"E-too-deep", loader, "nested deeper than 32 levels", "[[[[[[[["},
    {"E-too-many-values", loader, "more than 40,000 values in one file", "a table of readings"},
    {"E-too-many-findings", loader, "only the first 200 findings are listed", "a file of another kind"},

    // Shape.
    {"E-key-unknown", schema, "a key that is not known here", "rating: 665 kN"},
    {"E-key-missing", schema, "a key that must be there is not", "a jack without 'rated'"},
    {"E-one-of", schema, "exactly one (or at least one) of some keys must be there", "a bus with two kinds of wire"},
    {"E-value-missing", schema, "a key with nothing behind it", "rated:"},
    {"E-type", schema, "a list, mapping or value where another of them belongs", "gauges: G1"},
    {"E-quoted", schema, "numbers and true or false stand without quotes", "unit_id: '1'"},
    {"E-word", schema, "one of a few words is wanted", "parity: evn"},
    {"E-true-false", schema, "true or false is wanted", "simulated: yes"},
    {"E-whole-number", schema, "a whole number within stated ends is wanted", "unit_id: 0"},
    {"E-list-length", schema, "a list with too few or too many items", "scale with three points"},
    {"E-name", schema, "names are letters, digits, '_' and '-', at most 24", "J 1"},
    {"E-text", schema, "a text that is empty, too long, or reads as a number and has no quotes", "revision: 3"},
    {"E-address", schema, "a host is an IP address; looking up a name has no time limit", "host: manifold.local"},
    {"E-date", schema, "a date is written YYYY-MM-DD", "due: 1.3.2027"},
    {"E-kind-key", schema, "a key that this kind of stage does not have", "window in a stage of kind raise"},

    // Numbers and units.
    {"E-number", schema, "this cannot be read as a number and a unit", "0,5 mm"},
    {"E-unit-missing", schema, "a bare number where a unit belongs", "rated: 665"},
    {"E-unit-unknown", schema, "a unit that is not known, or is ambiguous", "rated: 75 tons"},
    {"E-unit-dimension", schema, "a unit of another dimension", "rated: 700 bar"},
    {"E-number-range", loader, "a number that cannot be kept exactly or compared", "timeout: 0.0000000001 s"},
    {"E-amount-range", loader, "an amount outside what makes sense there", "area: 0 cm2"},

    // Names that belong together.
    {"E-reference", loader, "a name that is nowhere defined", "advance: P9 where there is no P9"},
    {"E-name-twice", loader, "two things of one name", "two stages named 'Raise'"},
    {"E-listed-twice", schema, "the same name twice in one list", "gauges: [G1, G1]"},
    {"E-wildcard", loader, "a name with '*' that matches nothing, or stands where one thing is meant", "load K*"},
    {"E-channel-kind", loader, "a channel that measures something else", "advance: S1, a length"},

    // The rig.
    {"E-bus-kind", loader, "this cannot be read over that kind of wire", "input_register on serial lines"},
    {"E-site-stop", loader, "a site stop that a cut cable would silence, or that is read too seldom", "site_stop: {rests_at: 0}"},
    {"E-address-end", loader, "a value of several registers that runs beyond 65535", "input_register: 65535 as float32"},
    {"E-scale", loader, "two different raw numbers must stand for two different values", "counts: [0, 0]"},
    {"E-range", loader, "a range whose low end is not below its high end", "range: [10 mm, 0 mm]"},
    {"E-stale", loader, "polled too seldom for stale_after, or longer waited for an answer", "every: 8 s without a stale_after of its own"},
    {"E-calibration", loader, "calibration points must rise in pressure and load", "[100 bar, 90 kN] before [50 bar, 45 kN]"},
    {"E-share-sum", loader, "planned shares must make 100 % within 0.1 %", "four jacks of 24 %"},
    {"E-jack-in-two", loader, "a jack on two circuits", "J1 in A and in B"},
    {"E-supply", loader, "a supply that cannot be compared with its circuit's jacks", "a supply whose channel is fitted at the jack port"},
    {"E-gauge-in-two", loader, "a gauge that watches two points, or stands for two things", "G1 in HEAD and BASE"},
    {"E-gauge-twice", loader,
     "two gauges or pressures at one place are one instrument, which agrees with itself", "G1 and G2 at input register 4"},
    {"E-coil-twice", loader, "two outputs on one coil, or two read-backs on one input", "sounder and beacon at coil 3"},
    {"E-line-pattern", loader, "an answer needs {value} in it, as many as are asked for, each with a clear end", "answer: 'D mm'"},
    {"E-output-module", loader, "the module's times do not fit each other", "watchdog at_most below two heartbeats"},

    {"E-device-twice", loader, "two buses on one serial device: each would garble the other", "gauges and dial on /dev/ttyS1"},
    {"E-line-full", loader, "a serial line that is asked for more than it can carry", "20 polls of 2 registers every 100 ms at 9600 baud"},

    // The plan.
    {"E-column-load", loader, "low, expected and high must rise", "low: 1500 kN, expected: 1480 kN"},
    {"E-quantity", loader, "a quantity that is not in the dictionary, or with the wrong subjects", "of: weight J1"},
    {"E-since", loader, "'since' and 'from' belong to quantities that have them", "load J1 since baseline"},
    {"E-since-order", loader, "measured since a moment that has not come by then", "since lock-off while raising"},
    {"E-over", schema, "a rate needs its window 'over', and nothing else has one", "of: rate movement HEAD"},
    {"E-window", loader, "a window too short for five readings: its rate would never have a value", "over: 10 s, read every 5 s"},
    {"E-rate", schema, "a rate of what is a slope itself and no series over time", "of: rate stiffness ratio J1"},
    {"E-bound", schema, "this cannot be read as a bound", "above: target and a bit"},
    {"E-bound-reference", loader, "a bound refers to what this quantity does not have", "movement HEAD above rated"},
    {"E-limit-order", loader, "review, hold and stop must lie behind each other", "hold above 2 mm, stop above 1 mm"},
    {"E-limit-range", loader, "a limit that the instrument cannot reach", "travel above 200 mm, range 150 mm"},
    {"E-stop-gated", schema, "a limit with a stop has no 'when'", "stop and when in one limit"},
    {"E-persist", loader, "a stop that waits longer than 10 s", "stop: {above: 2 mm, persist: 15 s}"},
    {"E-beyond", schema, "'beyond' stands for both sides, and alone", "beyond and above in one level"},
    {"E-unguarded", loader, "a point without any stop on its movement since baseline", "a stage with no limit on BASE_A"},
    {"E-baseline", loader, "a plan has one stage of kind baseline, before any that raises", "no baseline"},
    {"E-steps", loader, "steps that are missing, not wanted, or go the wrong way", "50 % after 65 %"},
    {"E-target", loader, "a target above what a jack is rated for", "120 % where that is 700 kN on 665 kN"},
    {"E-observe", loader, "reading times must rise and end within the observation period", "read_at 12 min of 10 min"},
    {"E-stroke", loader, "a predicted travel longer than the stroke", "travel: 160 mm on 150 mm"},

    // Warnings.
    {"W-address-shared", loader, "two channels read the same register", "P1 and P2 at input register 0"},
    {"W-transducer-shared", loader, "two jacks on one transducer are one piece of evidence", "J1 and J3 both on P1"},
    {"W-gauge-places", loader, "places of fewer than four gauges: three fit any tilt, so none is taken off", "gauges_at of two gauges"},
    {"W-range-reach", loader, "a range that the raw number cannot reach", "range to 500 mm on 16 bits of 0.005 mm"},
    {"W-rated-reach", loader, "a jack whose rating lies above what its transducer can tell", "665 kN, transducer to 400 bar"},
    {"W-certificate", loader, "a certificate that was due before the day of the check", "due: 2026-03-01, checked a day later"},
    {"W-unit-slip", loader, "numbers that do not fit each other, as when one stands in another's unit", "133 cm2 for 133 in2"},
    {"W-line-full", loader, "a serial line that is asked for more than 80 % of what it can carry", "20 polls every 200 ms at 19200 baud"},
    {"W-stale", loader, "one lost answer makes a channel stale before the next can come", "every 1 s, slowest_answer 2 s, stale_after 2 s"},
    {"W-line-open", loader, "no checksum, and nothing before the number: a torn line may pass", "answer: '{value} mm'"},
    {"W-line-outputs", loader, "outputs that give up before a shared serial line is theirs", "slowest_answer 800 ms, timeout 200 ms"},
    {"W-host-twice", loader, "two buses on one host and port: many devices serve one connection", "two buses on 192.168.1.20 port 502"},
    {"W-pump-input", loader, "a pump's input that a cut cable would make read as a pump that stands", "pump_running: {rests_at: 0}"},
    {"W-readback", loader, "an output that nobody reads back", "raise_permit without readback"},
    {"W-module-unproved", loader, "no permit is given until the module's watchdog and power-on values are stated", "no watchdog"},
    {"W-no-outputs", loader, "a rig without an output module can watch, and permits nothing", "no output_module"},
    {"W-persist", loader, "a stop that waits longer than 2 s", "stop: {above: 2 mm, persist: 3 s}"},
    {"W-proof", loader, "a proof that lasts less than 2 min, or may lose more than 2 % or 0.05 mm", "proofs: {watch: 10 s}"},
    {"W-say", loader, "a line that names what nobody shall do or believe", "say: Release pressure"},
    {"W-unused", loader, "something that nothing refers to", "a limit set that no stage uses"},
    {"W-capacity-planned", loader, "a target above 75 % of a jack's rating", "510 kN on 665 kN"},
    {"W-capacity-high", loader, "above 80 % of a jack's rating, should the column weigh the high estimate", "540 kN on 665 kN"},
    {"W-stroke", loader, "a predicted travel into the last tenth of the stroke", "travel: 140 mm on 150 mm"},
    {"W-window", loader, "a window of fewer than ten polls: a few lost readings empty it", "over: 5 s of a gauge read every 1 s"},
    {"W-limit-uncertain", loader, "a limit of less than three times the uncertainty", "hold 0.05 mm, uncertainty 0.03 mm"},
    {"W-pressure-accuracy", loader, "more than 2 % of the reading is in doubt at a planned pressure", "1000 bar range at 80 bar"},
    {"W-stale-movement", loader, "more movement than from hold to stop fits into stale_after", "0.5 mm/min for 60 s"},
};

}  // namespace

std::span<const CodeEntry> finding_codes() { return table; }

const CodeEntry* find_code(std::string_view code) {
  for (const CodeEntry& entry : table) {
    if (entry.code == code) return &entry;
  }
  return nullptr;
}

Severity severity_of(std::string_view code) {
  ENSURE(find_code(code) != nullptr);
  return code.front() == 'E' ? Severity::error : Severity::warning;
}

}  // namespace standfast
