"""A bare Debian 12 with all that the package depends on, made once in the build folder; each test boots a copy of its own.

Everything comes from where this machine's own apt takes it. A booted copy is a container of systemd-nspawn: systemd is its first
process, it has its own loopback and no other network, and it ends with the program that started it.
"""
import hashlib
import os
import pathlib
import shutil
import signal
import subprocess
import time

PATIENCE_S = 120  # Only a guard against waiting for ever.
RUN_BY_SYSTEMD = pathlib.Path("/run/systemd/system").is_dir()
CONTAINER = ["setpriv", "--pdeathsig=TERM", "systemd-nspawn", "--quiet", "--settings=no", "--register=no", "--link-journal=no",
             "--timezone=off", *([] if RUN_BY_SYSTEMD else ["--keep-unit"])]
INSIDE = {"PATH": "/usr/sbin:/usr/bin:/sbin:/bin", "HOME": "/root", "DEBIAN_FRONTEND": "noninteractive", "LC_ALL": "C.UTF-8"}


def wait_for(what, is_so):
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        if is_so():
            return
        time.sleep(0.1)
    raise AssertionError(f"waited in vain for: {what}")


def apt_sources():
    """Debian's own among the sources of this machine: [(address, suite, component)], the release itself first."""
    listed = subprocess.run(["apt-get", "indextargets", "--format", "$(ORIGIN)|$(REPO_URI)|$(RELEASE)|$(COMPONENT)",
                             "Created-By: Packages"], capture_output=True, text=True, check=True).stdout
    rows = [line.split("|") for line in listed.splitlines()]
    found = {tuple(row[1:]) for row in rows if row[0] == "Debian" and row[2].startswith("bookworm")}
    return sorted(found, key=lambda row: row[1])


def apt_ways():
    """How this machine's apt gets at its sources (a proxy, clocks that differ)."""
    dump = subprocess.run(["apt-config", "dump"], capture_output=True, text=True, check=True).stdout.splitlines()
    return "\n".join(line for line in dump if line.startswith(("Acquire::http", "Acquire::https", "Acquire::Check"))) + "\n"


def say(command, **others):
    done = subprocess.run(command, capture_output=True, text=True, **others)
    if done.returncode != 0:
        raise AssertionError(f"{' '.join(map(str, command))}: exit {done.returncode}\n{done.stdout[-4000:]}{done.stderr[-4000:]}")
    return done.stdout


class OwnGroup:
    """A control group for a container where no systemd would make one; so that nothing is left in the machine's own."""
    def __init__(self):
        trees = [pathlib.Path("/sys/fs/cgroup", name) for name in ("", "unified", "systemd")]
        self.folders = [] if RUN_BY_SYSTEMD else [tree / f"standfast-{os.getpid()}-{id(self)}" for tree in trees
                                                  if (tree / "cgroup.procs").exists()]
        for folder in self.folders:
            folder.mkdir()

    def enter(self):
        for folder in self.folders:
            (folder / "cgroup.procs").write_text(str(os.getpid()))

    def end(self):
        wait_for("the container's last process", self.is_gone)

    def is_gone(self):
        try:
            for top in self.folders:
                for folder, _, _ in os.walk(top, topdown=False):
                    os.rmdir(folder)
        except OSError:
            return False
        return True


def make_bare(folder):
    address, suite, _ = apt_sources()[0]
    say(["debootstrap", "--variant=minbase", suite, folder, address])
    (folder / "etc/apt/sources.list").write_text("".join(f"deb {a} {s} {c}\n" for a, s, c in apt_sources()))
    (folder / "etc/apt/apt.conf.d/90ways").write_text(apt_ways())
    (folder / "etc/dpkg/dpkg.cfg.d/quick").write_text("force-unsafe-io\n")


def add_what_it_depends_on(folder, depends):
    group = OwnGroup()

    def apt(*words):
        say([*CONTAINER, "--pipe", f"--directory={folder}", "--resolv-conf=copy-host", "--setenv=DEBIAN_FRONTEND=noninteractive",
             "apt-get", "-q", *words], preexec_fn=group.enter)
    apt("update")
    apt("satisfy", "-y", "--no-install-recommends", depends)
    apt("clean")
    group.end()


def copy(folder, to):
    say(["cp", "--archive", "--reflink=auto", folder, to])


def kept(folder, make):
    """What `make` leaves in a folder, made only once: an attempt that did not end leaves nothing."""
    if not folder.exists():
        attempt = folder.with_name(folder.name + ".partial")
        shutil.rmtree(attempt, ignore_errors=True)
        attempt.parent.mkdir(parents=True, exist_ok=True)
        make(attempt)
        attempt.rename(folder)
    return folder


def debian_for(package, store):
    """The folder of a bare Debian 12 on which the package's own files are all that is missing."""
    depends = say(["dpkg-deb", "--field", package, "Depends"]).strip()
    bare = kept(store / "debian/bare", make_bare)

    def make(folder):
        copy(bare, folder)
        add_what_it_depends_on(folder, depends)
    return kept(store / f"debian/with-{hashlib.sha256(depends.encode()).hexdigest()[:12]}", make)


class Machine:
    """A Debian folder, booted and not changed: what it writes it writes into memory. `folder` is for what goes with it."""
    def __init__(self, debian, folder):
        self.folder = folder
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        self.group = OwnGroup()
        self.log = open(folder / "console", "w")
        self.container = subprocess.Popen(
            [*CONTAINER, "--boot", "--volatile=overlay", f"--directory={debian}", "--private-network", f"--machine={folder.name}",
             "--system-call-filter=bpf"],  # Without it the list of devices of a unit is ignored.
            stdin=subprocess.DEVNULL, stdout=self.log, stderr=self.log, preexec_fn=self.group.enter,
            env={**os.environ, "SYSTEMD_NSPAWN_UNIFIED_HIERARCHY": "1"})
        try:
            wait_for("the machine to start", self.has_started)
        except AssertionError:
            self.end()
            raise

    def has_started(self):
        if self.container.poll() is not None:
            raise AssertionError("the container ended: " + pathlib.Path(self.log.name).read_text())
        pid = self.container.pid
        children = pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        self.first_process = children[0] if children else None
        return children and self.run("systemctl", "is-active", "multi-user.target").stdout.strip() == "active"

    def end(self):
        if self.container.poll() is None:  # With the first process of a machine all others end.
            os.kill(int(self.first_process or self.container.pid), signal.SIGKILL)
        self.container.wait(PATIENCE_S)
        self.log.close()
        self.group.end()
        shutil.rmtree(self.folder)

    def command(self, user, words):
        return ["nsenter", f"--target={self.first_process}", "--mount", "--uts", "--ipc", "--net", "--pid", "--root", "--wd",
                "env", "-i", *(f"{name}={value}" for name, value in INSIDE.items()),
                *(["runuser", "-u", user, "--"] if user != "root" else []), *map(str, words)]

    def run(self, *words, user="root"):
        return subprocess.run(self.command(user, words), capture_output=True, text=True, stdin=subprocess.DEVNULL)

    def done(self, *words, user="root"):
        return say(self.command(user, words), stdin=subprocess.DEVNULL)

    def start(self, *words, user="root"):
        return subprocess.Popen(self.command(user, words), stdin=subprocess.PIPE, stdout=subprocess.DEVNULL)

    def path(self, inside):
        return pathlib.Path("/proc", self.first_process, "root", inside.lstrip("/"))

    def files(self, apart_from):
        """Every path of the disk but those below the folders named; run-time file systems are not of the disk."""
        listed = self.done("find", "/", "-xdev", *(w for folder in apart_from for w in ("-path", folder, "-prune", "-o")), "-print")
        return set(listed.splitlines())
