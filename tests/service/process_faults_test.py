"""What can befall the daemon's process and its machine, with a permit on the wire: it stalls, dies, is told to end, finds no
descriptor, no memory, no thread, no time and nobody who reads its messages."""
import ctypes
import os
import pathlib
import re
import resource
import signal
import socket
import sys
import unittest

import program_test
from program_test import replaced, wait_for
from rig_site import RigSite

SEIZE, INTERRUPT, DETACH, ANY_THREAD = 0x4206, 0x4207, 17, 0x40000000  # ptrace(2), waitpid(2)
LIBC = ctypes.CDLL(None, use_errno=True)


def stop_thread(process, name):
    """One thread of a running process stands still and all others live; what is given back lets it go on."""
    tasks = pathlib.Path(f"/proc/{process.pid}/task").iterdir()
    thread = next(int(task.name) for task in tasks if (task / "comm").read_text().strip() == name)
    for request in (SEIZE, INTERRUPT):
        if LIBC.ptrace(request, thread, None, None) != 0:
            raise OSError(ctypes.get_errno(), f"cannot stop thread {name}")
    os.waitpid(thread, ANY_THREAD)
    return lambda: LIBC.ptrace(DETACH, thread, None, None)


class ProcessFaults(RigSite):
    def start_daemon(self, **environment):
        daemon = super().start_daemon(**environment)
        resource.prlimit(daemon.pid, resource.RLIMIT_CORE, (0, 0))
        return daemon

    def module_trips(self):
        """How often the module's own watchdog has struck, as it says itself."""
        with socket.create_connection(("127.0.0.1", self.port)) as wire:
            wire.sendall(bytes([0, 1, 0, 0, 0, 6, 9, 3, 65103 >> 8, 65103 & 255, 0, 1]))
            return int.from_bytes(wire.recv(300)[9:11], "big")

    def test_an_engine_that_stalls_while_everything_else_lives_loses_permit_heartbeat_and_keeper(self):
        """[fault-26]"""
        self.start_rig()
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as keeper:
            keeper.bind(str(self.folder / "notify"))
            daemon = self.start_daemon(NOTIFY_SOCKET=str(self.folder / "notify"))
            self.crew()
            self.adopt()
            self.within_limits()
            self.commission()
            trips = self.module_trips()
            self.addCleanup(stop_thread(daemon, "engine"))
            self.permit_drops()
            wait_for("the module's own watchdog", lambda: self.module_trips() > trips)
            keeper.setblocking(False)
            try:
                while True:
                    keeper.recv(4096)
            except BlockingIOError:
                pass
            keeper.settimeout(3)
            with self.assertRaises(TimeoutError):
                while b"WATCHDOG" not in keeper.recv(4096):
                    pass

    def test_a_daemon_that_dies_of_a_fault_of_its_own_leaves_no_permit_and_a_new_one_brings_none_back(self):
        """[fault-27]"""
        daemon = self.armed()
        # An exception that nobody catches ends in SIGABRT, a stack that runs over in SIGSEGV, memory that the system takes in SIGKILL.
        for death in (signal.SIGABRT, signal.SIGSEGV, signal.SIGKILL):
            before = self.log_lines()
            daemon.send_signal(death)
            self.assertNotEqual(0, daemon.wait())  # A sanitizer answers a signal with an exit code of its own.
            self.permit_drops(by="watchdog")
            daemon = self.start_daemon()
            wait_for("outputs", lambda: self.output("call_out")["read_back"])
            self.assertEqual("hold", self.level())
            self.assertFalse(self.picture()["permit"]["given"])
            wait_for("readings", lambda: all(c["reading"]["quality"] == "good" for c in self.picture()["channels"]))
            if death == signal.SIGKILL:
                break
            self.looked_at()
            self.assertNotIn("raise_permit", self.energised_since(before))
            self.permit_anew()

    def test_asked_to_look_again_it_keeps_the_permit_and_asked_to_end_it_withdraws_it_first(self):
        """[fault-51]"""
        daemon = self.armed()
        before = self.log_lines()
        (self.job / "stages.yaml").write_text((self.job / "stages.yaml").read_text() + "# a remark\n")
        daemon.send_signal(signal.SIGHUP)
        wait_for("the look", lambda: "stages.yaml on disk is not in force" in self.say("alarms").stdout)
        self.assertTrue(self.contact("raise_permit"))
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait())
        self.assertFalse(self.contact("raise_permit"))
        self.assertIn('"raise_permit","on":false,"by":"coil"', "".join(self.log.read_text().splitlines()[before:]))
        self.start_daemon()
        wait_for("outputs", lambda: self.output("call_out")["read_back"])
        self.assertNotIn("raise_permit", self.energised_since(before))
        self.assertIn("permit ended", self.done("events"))

    def test_without_a_descriptor_left_a_lost_reading_withdraws_the_permit_and_nothing_is_lost_for_good(self):
        """[fault-50]"""
        daemon = self.armed()
        before = resource.prlimit(daemon.pid, resource.RLIMIT_NOFILE)
        resource.prlimit(daemon.pid, resource.RLIMIT_NOFILE, (3, before[1]))
        self.obeys("gauge P1 unplugged")
        self.permit_drops()
        self.obeys("wire manifold hangs up")  # Nobody can connect again.
        wait_for("the module's own watchdog", lambda: not self.contact("call_out"))
        self.obeys("mend manifold")
        resource.prlimit(daemon.pid, resource.RLIMIT_NOFILE, before)
        wait_for("an answer", lambda: self.say("status").returncode != program_test.NOT_REACHABLE)
        wait_for("the module", lambda: self.contact("call_out"))
        self.assertEqual("hold", self.level())
        self.assertFalse(self.contact("raise_permit"))

    def daemon_that_speaks_to(self, messages):
        """A permit on the wire, and whatever reads the daemon's messages at the end of `messages`."""
        self.start_rig()
        daemon = self.program(program_test.STANDFASTD, "--job", self.job, "--station", self.station, stderr=messages,
                              env={**os.environ, "NOTIFY_SOCKET": str(self.folder / "notify")})
        wait_for("the daemon", lambda: self.say("status").returncode != program_test.NOT_REACHABLE)
        self.crew()
        self.adopt()
        self.within_limits()
        self.commission()
        return daemon

    def keeper(self):
        keeper = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.addCleanup(keeper.close)
        keeper.bind(str(self.folder / "notify"))
        keeper.settimeout(program_test.PATIENCE_S)
        return keeper

    def still_works(self, daemon, keeper):
        """It withdraws, its keeper is told that it gets on, and it ends when asked to."""
        self.obeys("gauge P1 unplugged")
        self.permit_drops()
        self.assertEqual("hold", self.level())
        wait_for("the headline to be told", lambda: b"STATUS" in keeper.recv(4096))
        for _ in range(3):
            wait_for("the keeper to be fed", lambda: b"WATCHDOG" in keeper.recv(4096))
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait(program_test.PATIENCE_S))

    def nobody_reads(self, read, write):
        """Full to the brim before the daemon says its first word."""
        self.addCleanup(os.close, read)
        os.set_blocking(write, False)
        try:
            while True:
                os.write(write, b"x" * 4096)
        except BlockingIOError:
            os.set_blocking(write, True)
        keeper = self.keeper()
        daemon = self.daemon_that_speaks_to(write)
        os.close(write)
        self.still_works(daemon, keeper)

    def test_messages_in_a_pipe_that_nobody_reads_hold_up_nothing(self):
        """[fault-50]"""
        self.nobody_reads(*os.pipe())

    def test_a_journal_that_hangs_holds_up_nothing(self):
        """[fault-50] Its end of a service's messages is a stream of sockets."""
        self.nobody_reads(*(end.detach() for end in socket.socketpair()))

    def test_a_journal_that_has_gone_away_is_missed_by_nobody(self):
        """[fault-50]"""
        read, write = (end.detach() for end in socket.socketpair())
        keeper = self.keeper()
        daemon = self.daemon_that_speaks_to(write)
        os.close(write)
        os.close(read)
        self.still_works(daemon, keeper)

    def test_started_without_standard_streams_no_file_and_no_wire_becomes_one(self):
        """[fault-50] What is said to people would else be written into the record or to an instrument."""
        self.start_rig()
        keeper = self.keeper()
        daemon = self.program("/bin/sh", "-c", 'exec "$@" <&- >&- 2>&-', "sh", program_test.STANDFASTD, "--job", self.job,
                              "--station", self.station, env={**os.environ, "NOTIFY_SOCKET": str(self.folder / "notify")})
        wait_for("the daemon", lambda: self.say("status").returncode != program_test.NOT_REACHABLE)
        for stream in range(3):
            self.assertEqual("/dev/null", os.readlink(f"/proc/{daemon.pid}/fd/{stream}"))
        self.crew()
        self.adopt()
        self.within_limits()
        self.commission()
        self.still_works(daemon, keeper)
        self.assertIn("the same decisions", self.done("replay", str(self.job)))

    def test_memory_that_runs_out_ends_the_daemon_and_the_module_drops_everything(self):
        """[fault-50] It may take no page more than it has, and is asked to look at a file that needs some."""
        daemon = self.armed()
        status = pathlib.Path(f"/proc/{daemon.pid}/status").read_text()
        used = int(re.search(r"VmData:\s+(\d+) kB", status)[1]) * 1024
        before = self.log_lines()
        resource.prlimit(daemon.pid, resource.RLIMIT_DATA, (used, used))
        plan = self.job / "stages.yaml"
        kept = plan.read_text()
        plan.write_text(kept + "# nothing but words\n" * 40000)
        daemon.send_signal(signal.SIGHUP)
        self.assertNotEqual(0, daemon.wait(program_test.PATIENCE_S))
        wait_for("the module's contacts to open", lambda: not any(self.contact(o) for o in ("raise_permit", "stop_relay", "call_out")))
        plan.write_text(kept)
        self.start_daemon()
        wait_for("outputs", lambda: self.output("call_out")["read_back"])
        self.assertEqual("hold", self.level())
        self.assertFalse(self.picture()["permit"]["given"])
        self.assertNotIn("raise_permit", self.energised_since(before))
        self.assertIn("the same decisions", self.done("replay", str(self.job)))

    def test_a_processor_that_others_keep_busy_holds_up_no_withdrawal_for_good(self):
        """[fault-50]"""
        for _ in range(2 * os.cpu_count()):
            self.program(sys.executable, "-c", "while True: pass")
        self.armed()
        self.obeys("gauge P1 unplugged")
        self.permit_drops()
        self.assertEqual("hold", self.level())

    def test_where_a_thread_cannot_start_the_daemon_dies_and_the_module_drops_everything(self):
        """[fault-50]"""
        daemon = self.armed()
        text = (self.job / "rig.yaml").read_text()
        for bus, channel in (("first", "T1"), ("second", "T2"), ("third", "T3")):  # Each bus needs a thread of its own.
            text = replaced(text, "buses:\n", f"buses:\n  {bus}: {{modbus_tcp: {{host: 127.0.0.1, port: {self.port}}}, timeout: 200 ms}}\n")
            text = replaced(text, f"{channel}: {{bus: manifold", f"{channel}: {{bus: {bus}")
        (self.job / "rig.yaml").write_text(text)
        self.done("offer", "--as", "T. Marsh")
        revision = re.search(r"revision (\w+)", self.done("check", str(self.job)))[1]
        before = self.log_lines()
        used = int(pathlib.Path(f"/proc/{daemon.pid}/statm").read_text().split()[0]) * resource.getpagesize()
        resource.prlimit(daemon.pid, resource.RLIMIT_AS, (used, used))
        self.say("adopt", revision, "--as", "E. Quill", "--second", "S. Vane")
        self.assertNotEqual(0, daemon.wait())
        wait_for("the module's contacts to open", lambda: not any(self.contact(o) for o in ("raise_permit", "stop_relay", "call_out")))
        self.start_daemon()
        wait_for("outputs", lambda: self.output("call_out")["read_back"])
        self.assertEqual("hold", self.level())
        self.assertNotIn("raise_permit", self.energised_since(before))


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
