"""The command as a process: found, started, listened to, ended. Knows nothing of the GIS."""

import functools
import json
import os
import pathlib
import queue
import shutil
import signal
import subprocess
import threading
import time

_WHERE = (
    "Install routescreen (its README says how) and set its place under "
    "Settings > Options > Processing > Providers > routescreen."
)
_EXECUTABLES = ("routescreen", "routescreen.exe", "bin/routescreen", "Scripts/routescreen.exe")
# A GIS that brings its own Python points to its libraries by these; the command has a Python of its own.
_FOREIGN = ("PYTHONHOME", "PYTHONPATH", "VIRTUAL_ENV")
_NO_WINDOW = getattr(subprocess, "CREATE_NO_WINDOW", 0)  # on Windows, else a black window opens
_PATIENCE_S = 10.0
_LOOK_S = 0.2


class CommandError(Exception):
    """The command can't be found or started; the text says what to do."""


def find_command(setting):
    """Return the path of the command.

    Parameters
    ----------
    setting : str
        What the user has set: the command or the folder of its virtual environment; "" for none, which
        leaves it to the system's search path.

    Raises
    ------
    CommandError
        If it isn't there.
    """
    if not setting.strip():
        found = shutil.which("routescreen")
        if found is None:
            raise CommandError(f"The command routescreen is not on the system's search path. {_WHERE}")
        return found
    place = pathlib.Path(setting.strip()).expanduser()
    candidates = [place / name for name in _EXECUTABLES] if place.is_dir() else [place]
    for path in candidates:
        if path.is_file() and os.access(path, os.X_OK):
            return str(path)
    raise CommandError(f"There is no command routescreen at {place}. {_WHERE}")


def own_environment(environment):
    """Return the environment without what leads to the Python of the GIS."""
    return {key: value for key, value in environment.items() if key not in _FOREIGN}


@functools.lru_cache(maxsize=8)
def has_command(path, name, changed_at):  # noqa: ARG001 - the last makes a new install count anew
    """Say whether the installed version knows a command, such as ``check``.

    Parameters
    ----------
    path, name : str
    changed_at : float
        When the file at `path` was last changed [s].
    """
    return _call([path, name, "--help"]) == 0


def _call(arguments):
    try:
        done = subprocess.run(
            arguments,
            check=False,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            env=own_environment(os.environ),
            timeout=60,
            creationflags=_NO_WINDOW,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise CommandError(f"{arguments[0]} can't be started ({error}). {_WHERE}") from error
    return done.returncode


def progress_of(line):
    """Return the object of a line of progress, None for any other line.

    >>> progress_of('{"stage": "search", "job_frac": 0.5, "left_s": 20}')["stage"]
    'search'
    >>> progress_of("Warning: there is no ground cover.") is None
    True
    """
    if not line.startswith("{"):
        return None
    try:
        found = json.loads(line)
    except ValueError:
        return None
    return found if isinstance(found, dict) and "stage" in found and "job_frac" in found else None


def run_command(arguments, *, show, tell, is_cancelled):
    """Run the command to its end, or end it when cancelled, and return its exit code.

    Parameters
    ----------
    arguments : list of str
        The command's path and what follows it.
    show : callable
        Takes each object of progress.
    tell : callable
        Takes each other line, and whether it is from stderr.
    is_cancelled : callable
        Says whether the user wants it to end.

    Returns
    -------
    int or None
        None where it was cancelled.

    Raises
    ------
    CommandError
        If it can't be started.
    """
    try:
        process = subprocess.Popen(
            arguments,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            errors="replace",
            env={**own_environment(os.environ), "PYTHONIOENCODING": "utf-8"},
            creationflags=_NO_WINDOW,
        )
    except OSError as error:
        raise CommandError(f"{arguments[0]} can't be started ({error}). {_WHERE}") from error
    lines = queue.Queue()
    readers = [_reader(stream, lines) for stream in (process.stdout, process.stderr)]
    try:
        while any(reader.is_alive() for reader in readers) or not lines.empty():
            if is_cancelled():
                return None
            _pass_on(lines, process.stderr, show, tell)
        return process.wait()
    finally:
        end(process)
        for reader in readers:
            reader.join()


def _reader(stream, lines):
    """Read a stream in a thread of its own: a full pipe would stop the command."""

    def read():
        with stream:
            for line in stream:
                lines.put((stream, line.rstrip("\r\n")))

    thread = threading.Thread(target=read, daemon=True)
    thread.start()
    return thread


def _pass_on(lines, stderr, show, tell):
    try:
        stream, line = lines.get(timeout=_LOOK_S)
    except queue.Empty:
        return
    progress = progress_of(line) if stream is stderr else None
    if progress is not None:
        show(progress)
    else:
        tell(line, stream is stderr)


def end(process):
    """End a process that still runs: asked first, so that it tidies up, then by force."""
    if process.poll() is not None:
        return
    process.send_signal(signal.SIGTERM)  # on Windows this is force already
    until = time.monotonic() + _PATIENCE_S
    while process.poll() is None and time.monotonic() < until:
        time.sleep(_LOOK_S / 4)
    if process.poll() is None:
        process.kill()
        process.wait()
