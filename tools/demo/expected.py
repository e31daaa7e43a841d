"""What must have come, in order: the alarms by the record, the outputs by the rig's own output module."""
from parts import NotAsExpected

HEAD, RATE = "movement HEAD since baseline", "rate movement HEAD over 10 s"
# The head that is pushed up takes its load with it: every jack is relieved at once and its ram follows further than the load
# says. A load that falls so fast is a STOP of its own after a second or two, by its HOLD; one that has fallen out of what was
# reached, and a ram that departs from what was predicted, are HOLDs.
JACKS = (1, 2, 3, 4)
MOVED = ({(HEAD, "hold"), (RATE, "hold")} | {(f"rate load J{n} over 10 s", level) for n in JACKS for level in ("hold", "stop")}
         | {(f"departure J{n}", "hold") for n in JACKS} | {(f"load fallen J{n} from 65 %", "hold") for n in JACKS})

# Each first-out with what followed it before all was reset: subject and level.
EPISODES = [
    (("start", "hold"), {("plan", "hold")}),
    (("output module", "hold"), set()),          # The cable pulled for the proof.
    (("instrument G2", "hold"), set()),          # The gauge that dies.
    ((HEAD, "stop"), MOVED),
]

# The permit's contact, as the module saw it: on by its coil, off by what.
PERMITS = (
    ["watchdog"]                                 # Commission: heartbeat withheld.
    + ["coil", "coil", "watchdog", "watchdog"]   # Snug: target reached; by command; by heartbeat; by cable.
    + ["coil"]                                   # 25 %.
    + ["coil", "coil"]                           # 50 %: gauge G2; target reached.
    + ["coil"]                                   # 65 %.
    + ["coil", "coil"]                           # 75 %: STOP; target reached.
    + ["coil"] * 4                               # 85, 90, 95, 100 %.
)
# The valve-close relay drops with the watchdog three times, and for the one STOP.
STOP_RELAY = ["watchdog", "watchdog", "watchdog", "coil"]


def episodes_of(alarms):
    """Alarms by the first-out they followed."""
    found = []
    for subject, level, first_out in alarms:
        if first_out:
            found.append(((subject, level), set()))
        elif found:
            found[-1][1].add((subject, level))
        else:
            raise NotAsExpected(f"{subject} ({level}) came with no first-out before it")
    return found


def switched_off(module, output):
    """By what each time, and that it was on before."""
    offs, is_on = [], False
    for entry in module:
        if entry.get("output") != output:
            continue
        if is_on and not entry["on"]:
            offs.append(entry["by"])
        is_on = entry["on"]
    return offs


def same(what, expected, found):
    if expected != found:
        raise NotAsExpected(f"{what}: expected {expected}, found {found}")


def judge(module, alarms):
    found = episodes_of(alarms)
    for place, (expected, seen) in enumerate(zip(EPISODES, found)):
        same(f"signal {place + 1}", expected, seen)
    same("number of signals", len(EPISODES), len(found))
    same("the permit's contact", PERMITS, switched_off(module, "raise_permit"))
    same("the relay that closes the valves", STOP_RELAY, switched_off(module, "stop_relay"))
    beacons = sum(1 for entry in module if entry.get("output") == "beacon" and entry["on"])
    same("times the beacon was lit", len(EPISODES), beacons)
