"""Runs the main job on the simulated rig and judges it. Exit code 0 only if exactly the expected signals came, in order,
each with its alarm and its first-out, as the rig's own output module saw them. See ../run-demo."""
import argparse
import pathlib
import subprocess
import sys
import tempfile
import time

from expected import judge
from job import Job
from parts import NotAsExpected, Rig, Standfast, end, lay_out, programs
from story import Story, fail

HERE = pathlib.Path(__file__).resolve().parent
CAUTION = """This is a demonstration on a simulated rig, with times shortened. Standfast is an aid, not a safety-rated device:
nobody stays under a load held by hydraulics alone, lock-off follows the load, a STOP lets no pressure out; local codes and
the licensed engineer decide."""


def arguments():
    parser = argparse.ArgumentParser(prog="run-demo", description=__doc__)
    parser.add_argument("--build", default="build/release", help="folder with the built programs")
    parser.add_argument("--daemon", help="another daemon than the built one (tests)")
    parser.add_argument("--folder", help="an empty folder for job, station and logs; default: a new one")
    parser.add_argument("--stay", action="store_true", help="leave rig and daemon running at the end")
    return parser.parse_args()


def how_to_read(folder, client):
    job, station = folder / "job", folder / "station"
    return f"""
  The record of this run: {job / 'record.db'}
    {client} events --job {job} --station {station}
    {client} export --csv {folder / 'csv'} --job {job} --station {station}
    {client} replay {job}
    sqlite3 -readonly {job / 'record.db'} 'SELECT * FROM alarm_log'"""


WIRES = {"manifold": "Modbus TCP", "gauges": "Modbus on a serial line", "dial": "text on a serial line"}


def heard(answers):
    for bus, wire in WIRES.items():
        if not answers.get(bus):
            raise NotAsExpected(f"nothing was read over {wire}")
    return ", ".join(f"{answers[bus]} over {wire}" for bus, wire in WIRES.items())


def replay(client, job):
    done = subprocess.run([client, "replay", job], capture_output=True, text=True)
    if done.returncode != 0:
        raise NotAsExpected(f"the replay differs: {(done.stdout + done.stderr).strip()}")
    return done.stdout.strip().splitlines()[-1]


def stay(daemon):
    """Until the daemon ends or somebody presses Ctrl-C, which is as it should be."""
    try:
        daemon.wait()
    except KeyboardInterrupt:
        print(flush=True)


def run(options, folder):
    story = Story()
    rig = standfast = None
    try:
        built = programs(options.build)
        job, station = lay_out(folder, HERE.parent.parent / "config/examples/grain-store")
        rig = Rig(built["rig"], folder, job)
        standfast = Standfast(options.daemon or built["daemon"], built["client"], job, station)
        Job(standfast, rig, story).do_all()
        seconds = story.seconds()
        judge(rig.seen(), standfast.history())
        story.tell(f"exactly the expected signals came, in order; the run took {seconds:.0f} s")
        story.tell("answers read: " + heard(standfast.answers()))
        cpu, memory = standfast.used()
        story.tell(f"meanwhile the daemon used {cpu:.1f} s of one core ({100 * cpu / seconds:.1f} %) and at most {memory:.0f} MiB")
        if options.stay:
            print(how_to_read(folder, built["client"]))
            print(f"\n  Rig and daemon go on. Look: {built['client']} watch --station {station}\n  End with Ctrl-C.", flush=True)
            stay(standfast.process)
        end(standfast.process)
        story.tell(replay(built["client"], job))
        print(how_to_read(folder, built["client"]))
        return 0
    except NotAsExpected as trouble:
        fail(trouble)
        return 1
    except KeyboardInterrupt:
        return 130
    finally:
        end(standfast and standfast.process)
        end(rig and rig.process)


def main():
    options = arguments()
    folder = pathlib.Path(options.folder or tempfile.mkdtemp(prefix=f"standfast-demo-{time.strftime('%H%M%S')}-"))
    print(CAUTION, flush=True)
    sys.exit(run(options, folder.resolve()))


if __name__ == "__main__":
    main()
