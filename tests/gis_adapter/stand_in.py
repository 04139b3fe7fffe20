"""Stands for the command where only its words and codes matter: answers at once with results made before.

Called as the command is; the finished results lie in the folder ``finished`` beside it. A GeoPackage whose
name begins with ``own`` is refused; into a folder named ``cancelled`` it works for ever.
"""

import json
import pathlib
import shutil
import signal
import sys
import time

arguments = sys.argv[1:]
if arguments[0] != "run":
    sys.stderr.write(f"Usage: routescreen [OPTIONS] COMMAND\n\nError: No such command '{arguments[0]}'.\n")
    sys.exit(2)
gpkg = next(pathlib.Path(text) for text in arguments[1:] if text.endswith(".gpkg"))
output = pathlib.Path(arguments[arguments.index("-o") + 1])
for number, stage in enumerate(("read input", "search", "write results")):
    line = {"stage": stage, "done_frac": 0.0, "job_frac": number / 2, "left_s": [None, 90, 0][number]}
    sys.stderr.write(json.dumps(line) + "\n")
    sys.stderr.flush()
    if stage == "search" and output.name == "cancelled":
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(130))
        time.sleep(600)
    if stage == "search" and gpkg.stem.startswith("own"):
        sys.stderr.write(f"Error: file {gpkg}: The kind 'no_such_kind' is unknown. Remedy: Use another.\n")
        sys.exit(3)
shutil.copytree(pathlib.Path(__file__).with_name("finished"), output)
sys.stdout.write("Corridor west: 2020 m.\nA screening aid, not a design.\n")
