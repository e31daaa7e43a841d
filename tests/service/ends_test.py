"""How the programs end and where they look: exit codes, the default folders, `watch`, and `replay` of a record that was changed."""
import http.server
import json
import os
import signal
import socketserver
import sqlite3
import subprocess
import sys
import threading
import unittest

import program_test as programs

NOTICE_OF_ABSENCE = "no daemon at /run/standfast/standfast.sock"
BAD_INPUT, NOT_REACHABLE, CANNOT_CREATE, IO = 65, 69, 73, 74


class DaemonWithoutDisk(http.server.BaseHTTPRequestHandler):
    """Answers as a daemon does whose record lags: done, and not on the disk."""
    protocol_version = "HTTP/1.1"
    picture = {}

    def answer(self, body):
        data = json.dumps(body).encode()
        self.send_response(200)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)

    def do_GET(self):
        self.answer({"recorded": False} if "recorded" in self.path else self.picture)

    def do_POST(self):
        asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        act = "stop" if self.path.endswith("stop") else asked["act"]
        self.answer({"act": act, "accepted": True, "code": "done", "text": "", "seq": 7, "recorded": False})

    def log_message(self, *_):
        pass

    def address_string(self):
        return "station"


class Ends(programs.Site):
    def without_station(self, *arguments):
        return subprocess.run([programs.STANDFAST, *arguments], capture_output=True, text=True)

    @unittest.skipIf(os.path.exists("/run/standfast"), "a station of this machine is at work")
    def test_without_station_socket_and_lock_are_sought_below_run(self):
        # The Filesystem Hierarchy Standard 3.0, 3.15: what runs keeps its socket in /run/NAME.
        said = self.without_station("status")
        self.assertEqual(NOT_REACHABLE, said.returncode)
        self.assertIn(NOTICE_OF_ABSENCE, said.stderr)
        daemon = self.program(programs.STANDFASTD, "--job", self.job, stderr=subprocess.PIPE, text=True)
        self.assertIn("/run/standfast/standfastd.lock", daemon.stderr.read())
        daemon.stderr.close()
        self.assertEqual(69, daemon.wait())

    @unittest.skipIf(os.path.exists("/var/lib/standfast") or os.geteuid() != 0, "only root on a machine without a station may try")
    def test_without_station_people_are_kept_below_var_lib_and_what_cannot_be_written_ends_with_73(self):
        # The same, 5.8: state that outlives a restart is in /var/lib/NAME.
        said = self.without_station("people", "add", "E. Quill", "--role", "engineer")
        self.assertEqual(CANNOT_CREATE, said.returncode)
        self.assertIn("/var/lib/standfast", said.stderr)

    def test_a_station_that_cannot_be_written_ends_with_73(self):
        said = subprocess.run([programs.STANDFAST, "people", "add", "E. Quill", "--role", "engineer", "--station",
                               str(self.folder / "nowhere")], capture_output=True, text=True)
        self.assertIn(said.returncode, (CANNOT_CREATE, 77))  # 77: it has no owner, unless root asks.
        self.assertEqual(CANNOT_CREATE if os.geteuid() == 0 else 77, said.returncode)

    def test_a_job_that_another_daemon_holds_ends_with_73(self):
        self.start_daemon()
        (self.folder / "other").mkdir()
        second = self.program(programs.STANDFASTD, "--job", self.job, "--station", self.folder / "other", stderr=subprocess.DEVNULL)
        self.assertEqual(CANNOT_CREATE, second.wait())

    def test_a_record_that_is_none_ends_with_65(self):
        (self.job / "record.db").write_text("no database\n" * 1000)
        said = self.say("replay", str(self.job))
        self.assertEqual(BAD_INPUT, said.returncode, said.stderr)

    def test_an_act_that_is_not_on_the_disk_ends_with_74_and_a_stop_with_0(self):
        daemon = self.start_daemon()
        DaemonWithoutDisk.picture = self.picture()
        daemon.terminate()
        daemon.wait()
        server = socketserver.UnixStreamServer(str(self.station / "standfast.sock"), DaemonWithoutDisk)
        self.addCleanup(server.server_close)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.addCleanup(server.shutdown)
        said = self.say("acknowledge", "all")
        self.assertEqual(IO, said.returncode, said.stdout + said.stderr)
        self.assertIn("NOT RECORDED YET", said.stderr)
        said = self.say("stop", "crack")
        self.assertEqual(0, said.returncode, said.stdout + said.stderr)
        self.assertIn("STOP called", said.stdout)
        self.assertIn("NOT RECORDED YET", said.stderr)

    def test_watch_draws_anew_says_when_it_has_no_data_and_ends_when_asked(self):
        daemon = self.start_daemon()
        watch = self.program(programs.STANDFAST, "watch", "--station", self.station, stdout=subprocess.PIPE)
        self.addCleanup(watch.stdout.close)
        drawn = b""

        def until(words):
            nonlocal drawn
            while words not in drawn:
                piece = watch.stdout.read1(4096)
                self.assertTrue(piece, "it ended")
                drawn += piece

        clear = b"\x1b[H\x1b[2J"
        until(b"HOLD")
        self.assertTrue(drawn.startswith(clear))
        drawn = b""
        until(clear)
        until(b"HOLD")
        daemon.kill()
        daemon.wait()
        until(b"nothing is watched, take it as HOLD")
        drawn = b""
        self.start_daemon()
        until(b"HOLD")
        watch.send_signal(signal.SIGINT)
        self.assertEqual(-signal.SIGINT, watch.wait())
        self.assertEqual(programs.USAGE, self.say("watch", "--every", "0").returncode)

    def test_replay_names_the_row_that_was_changed_and_ends_with_1(self):
        daemon = self.working_site()
        self.done("stop", "crack")
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait())
        said = self.done("replay", str(self.job)).splitlines()[-1]
        self.assertIn("the same decisions, byte for byte; of the seals this says nothing: tests/record/verify_seals.py", said)
        newest = json.loads(self.done("replay", "--newest-snapshot", "--json", str(self.job)))
        self.assertGreater(newest["events"], 0)
        self.assertGreaterEqual(newest["to_row"], newest["from_row"])
        record = sqlite3.connect(self.job / "record.db")
        triggers = record.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'signal'").fetchall()
        for name, _ in triggers:
            record.execute(f"DROP TRIGGER {name}")
        seq, = record.execute("SELECT max(seq) FROM signal WHERE to_level = 'stop'").fetchone()
        record.execute("UPDATE signal SET to_level = 'hold' WHERE seq = ?", (seq,))
        record.commit()
        refused = self.say("replay", str(self.job))
        self.assertEqual(65, refused.returncode, refused.stdout + refused.stderr)
        self.assertIn("is not trusted: a table, view or trigger is not the one that the record was made with", refused.stderr)
        for _, text in triggers:
            record.execute(text)
        record.commit()
        record.close()
        said = self.say("replay", str(self.job))
        self.assertEqual(1, said.returncode, said.stdout + said.stderr)
        self.assertIn(f"FIRST DIFFERENCE at row {seq}\n", said.stdout)
        as_json = json.loads(self.say("replay", "--json", str(self.job)).stdout)
        self.assertFalse(as_json["same"])
        self.assertEqual(seq, as_json["difference"]["row"])


if __name__ == "__main__":
    programs.STANDFASTD, programs.STANDFAST, programs.RIG = sys.argv[1:4]
    del programs.Programs, programs.Words  # Their own entry runs them.
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
