"""The programs that a demonstration runs, and how it speaks to them: daemon, command line, simulated rig."""
import json
import os
import pathlib
import shutil
import socket
import sqlite3
import subprocess
import time


LOOK_AGAIN = 75  # The command line's exit code.


class NotAsExpected(Exception):
    """Something did not happen, or happened otherwise. The demonstration ends with exit code 1."""


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def lay_out(folder, examples):
    """A job folder and a station folder of its own, the rig on three kinds of wire: a port that is free now, and serial lines."""
    job, station = folder / "job", folder / "station"
    job.mkdir(parents=True)
    station.mkdir()
    rig = (examples / "rig-wires.yaml").read_text()
    lines = "/tmp/standfast-grain-store/"
    if "port: 1502" not in rig or lines not in rig:
        raise NotAsExpected(f"rig-wires.yaml of the example no longer states port 1502 and lines under {lines}")
    rig = rig.replace("port: 1502", f"port: {free_port()}").replace(lines, f"{folder}/lines/")
    (job / "rig.yaml").write_text(rig)
    shutil.copy(examples / "stages-demo.yaml", job / "stages.yaml")
    return job, station


class Rig:
    """The simulated rig: the hand on the pump, the faults, and the log of its output module."""

    def __init__(self, program, folder, job):
        self.log = folder / "rig-log.jsonl"
        self.control = folder / "rig.socket"
        self.process = subprocess.Popen(
            [program, "--rig", job / "rig.yaml", "--control", self.control, "--log", self.log],
            stdout=subprocess.DEVNULL)
        wait_for("the simulated rig to start", self.control.exists, 10)

    def say(self, words):
        with socket.socket(socket.AF_UNIX) as wire:
            wire.connect(str(self.control))
            wire.sendall((words + "\n").encode())
            answer = wire.makefile().readline().strip()
        if not answer.startswith("done:"):
            raise NotAsExpected(f"the rig was told '{words}' and answered '{answer}'")

    def wait_off(self, output, by):
        """Until the output module's contact has opened by that."""
        def is_off():
            last = [entry for entry in self.seen() if entry.get("output") == output][-1:]
            return bool(last) and not last[0]["on"] and last[0]["by"] == by
        wait_for(f"{output} to drop by {by}", is_off, 10)

    def seen(self):
        """What the output module has seen so far, oldest first."""
        lines = self.log.read_text().splitlines() if self.log.exists() else []
        return [json.loads(line) for line in lines if line.endswith("}")]


class Standfast:
    """The daemon, through the command line that people use."""

    def __init__(self, daemon, client, job, station):
        self.client, self.station, self.job = client, station, job
        self.process = subprocess.Popen([daemon, "--job", job, "--station", station])
        wait_for("the daemon to answer", lambda: self.run("status", "--json").returncode in range(0, 7), 20)

    def run(self, *words):
        return subprocess.run([self.client, *words, "--station", self.station], capture_output=True, text=True)

    def act(self, *words):
        """Does it, or says why not. Where what was seen has changed meanwhile, a person looks again."""
        for _ in range(10):
            done = self.run(*words)
            if done.returncode != LOOK_AGAIN:
                break
        if done.returncode != 0:
            raise NotAsExpected(f"standfast {' '.join(words)}: exit {done.returncode}: {(done.stdout + done.stderr).strip()}")
        return done.stdout

    def offered(self):
        """What `adopt` calls the files that have been offered."""
        return self.run("check", self.job).stdout.split("revision ")[1].split()[0]

    def history(self):
        """Every HOLD and STOP that was raised, oldest first, as the record has it: subject, level, first-out."""
        record = sqlite3.connect(f"file:{self.job / 'record.db'}?mode=ro", uri=True)
        rows = record.execute("SELECT subject, level, first_out FROM alarm_log WHERE level IN ('hold', 'stop') AND "
                              "from_state = 'normal' ORDER BY seq").fetchall()
        record.close()
        return rows

    def answers(self):
        """How often each bus was asked and answered."""
        record = sqlite3.connect(f"file:{self.job / 'record.db'}?mode=ro", uri=True)
        rows = record.execute("SELECT bus, count(*) - count(flaw) FROM scan JOIN block ON block.key = scan.block GROUP BY bus").fetchall()
        record.close()
        return dict(rows)

    def used(self):
        """Seconds of a core and the most memory in MiB that the daemon has used so far."""
        proc = pathlib.Path(f"/proc/{self.process.pid}")
        user, system = (proc / "stat").read_text().rsplit(")", 1)[1].split()[11:13]
        peak_kib = (proc / "status").read_text().split("VmHWM:")[1].split()[0]
        return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK"), int(peak_kib) / 1024

    def picture(self):
        return json.loads(self.run("status", "--json").stdout)


def wait_for(what, is_so, seconds):
    end = time.monotonic() + seconds
    while not is_so():
        if time.monotonic() > end:
            raise NotAsExpected(f"waited {seconds} s in vain for {what}")
        time.sleep(0.05)


def end(process):
    if process and process.poll() is None:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()


def programs(folder):
    found = {name: pathlib.Path(folder) / path for name, path in
             {"daemon": "daemon/standfastd", "client": "tools/standfast/standfast", "rig": "tools/rig/standfast-rig"}.items()}
    for path in found.values():
        if not path.exists():
            raise NotAsExpected(f"{path} has not been built")
    return found
