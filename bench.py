"""Set up Whirlbench and run it, with nothing but Python 3.11 or newer.

    python bench.py demo     set up, then ask what holds the starter turbine back
    python bench.py test     set up everything, then format check, lint and all tests
    python bench.py check    the same with the quick tests only
    python bench.py setup    set up, and stop there
    python bench.py lock     remake locks/ from pyproject.toml; add --upgrade for newer versions

What is written after test or check goes on to pytest: python bench.py test -k gears
"""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN, EXE = (VENV / "Scripts", ".exe") if os.name == "nt" else (VENV / "bin", "")
PYTHON, WHIRLBENCH = BIN / f"python{EXE}", BIN / f"whirlbench{EXE}"
STAMP = VENV / "installed.txt"
RUN, ALL = ROOT / "locks" / "run.txt", ROOT / "locks" / "all.txt"
EXAMPLES = Path("src", "whirlbench", "examples")
MAIN_JOB = [
    *("improve", EXAMPLES / "starter.toml", "--bin", EXAMPLES / "parts-bin.toml"),
    *("--readings", EXAMPLES / "starter-readings.csv", "--event", EXAMPLES / "event.toml"),
]


def step(title, *command, **options):
    """Say what comes, do it from the root, and return its exit code."""
    print(f"== {title}", flush=True)
    return subprocess.run(command, cwd=ROOT, **options).returncode


def must(title, *command):
    """Do a step that the rest cannot do without."""
    code = step(title, *command)
    if code:
        print(f"bench.py stops here: '{title}' ended with {code}; the lines above say why.", file=sys.stderr)
        sys.exit(code)


def pip(title, *options):
    """Install into .venv; only errors are shown."""
    must(title, PYTHON, "-m", "pip", "install", "-qq", "--disable-pip-version-check", *options)


def fits():
    """Tell whether .venv answers, has pip, and is of the Python that runs this script."""
    probe = [PYTHON, "-c", "import pip, sys; print(sys.version_info[:2])"]
    try:
        answer = subprocess.run(probe, capture_output=True, text=True)
    except OSError:
        return False
    return answer.stdout.strip() == str(sys.version_info[:2])


def mark(lock):
    """Fingerprint of all that an installation depends on; the place too, since .venv cannot be moved."""
    return hashlib.sha256(lock.read_bytes() + (ROOT / "pyproject.toml").read_bytes() + bytes(ROOT)).hexdigest()


def make_venv():
    """Make .venv, anew when another Python made it."""
    if not fits():
        must(f"Making .venv with Python {sys.version.split()[0]}", sys.executable, "-m", "venv", "--clear", VENV)


def install(lock):
    """Bring .venv to what the lock says; a moment when it is there already."""
    make_venv()
    if STAMP.is_file() and mark(lock) in STAMP.read_text():
        return
    pinned = ("--require-hashes", "--only-binary", ":all:", "--requirement", lock)
    pip(f"Installing the packages of locks/{lock.name}: a few minutes the first time", *pinned)
    pip("Installing Whirlbench itself", "--no-deps", "--no-build-isolation", "--editable", ROOT)
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    step("Compiling: one run of the main job, its answer thrown away", WHIRLBENCH, *MAIN_JOB, **quiet)
    STAMP.write_text("\n".join(mark(each) for each in {lock, RUN}))  # all.txt holds run.txt


def demo():
    """Run the main job on the shipped example."""
    install(RUN)
    shown = " ".join(str(word) for word in (WHIRLBENCH.relative_to(ROOT), *MAIN_JOB))
    return step(shown, WHIRLBENCH, *MAIN_JOB)


def browser():
    """Bring what the tests of the page need and pip cannot: a Chromium, and the checker of accessible pages."""
    if not any(map(shutil.which, ("chromium", "google-chrome"))) and "WHIRLBENCH_CHROMIUM" not in os.environ:
        if shutil.which("apt-get") and os.geteuid() == 0:
            quiet = {"env": {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}, "stdout": subprocess.DEVNULL}
            step("Asking the system's own packages for Chromium", "apt-get", "update", "-qq", **quiet)
            step(
                "Installing Chromium", "apt-get", "install", "-y", "-qq", "--no-install-recommends", "chromium", **quiet
            )
        else:
            print("No Chromium here, so tests in a real browser are left out; WHIRLBENCH_CHROMIUM may name one.")
    npm, place = shutil.which("npm"), ROOT / "tests" / "web"
    if npm and not (place / "node_modules" / "axe-core").is_dir():
        words = (npm, "ci", "--prefix", place, "--ignore-scripts", "--no-audit", "--no-fund")
        step("Fetching the checker of accessible pages", *words, stdout=subprocess.DEVNULL)


def test(*options):
    """Check format and lint, run the tests, and return the first exit code that is not 0."""
    install(ALL)
    browser()
    codes = [
        step("Format", PYTHON, "-m", "ruff", "format", "--check", "."),
        step("Lint", PYTHON, "-m", "ruff", "check", "."),
        step("Tests", PYTHON, "-m", "pytest", "-n", "2", *options),
    ]
    return next((code for code in codes if code), 0)


def check(*options):
    """Run all but the slow tests."""
    return test("-m", "not slow", *options)


def setup():
    """Set up what a user needs."""
    install(RUN)
    print(f"Ready: {WHIRLBENCH.relative_to(ROOT)} --help")


def lock(*options):
    """Remake the lock files, for every platform and every Python from 3.11."""
    make_venv()
    pip("Fetching the resolver", "uv")
    clean = ("--no-emit-index-url", "--no-emit-find-links", "--no-annotate")
    uv = (PYTHON, "-m", "uv", "pip", "compile", "--quiet", "--universal", "--generate-hashes", *clean)
    uv = (*uv, "--custom-compile-command", "python bench.py lock", *options, "--group", "build", "pyproject.toml")
    must("locks/all.txt", *uv, "--group", "test", "--all-extras", "--output-file", ALL)
    must("locks/run.txt", *uv, "--constraint", ALL, "--output-file", RUN)


def main(name="", *options):
    """Do what was asked for, or say what can be asked for."""
    commands = {each.__name__: each for each in (demo, test, check, setup, lock)}
    if name not in commands or (options and name in ("demo", "setup")):
        print(__doc__.strip(), file=sys.stderr)
        return 2
    return commands[name](*options)


if __name__ == "__main__":
    if sys.version_info < (3, 11):  # noqa: UP036 - it is an older Python that must read this line
        sys.exit("Whirlbench needs Python 3.11 or newer, this is {}.{}.".format(*sys.version_info))
    try:
        sys.exit(main(*sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
