"""What the benchmarks of whole programs have in common."""

import json
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# The batch program prints six digits after the first: half a unit of the last is at most
# 5e-7 of the figure, and the witnesses may differ by 1 uV + 1e-6.
CHECK_SHARE = 2e-6
CHECK_VOLTS = 1e-6


def run(command, folder, environment=None):
    """Runs a command to its end. Returns seconds, peak kilobytes and what it printed.

    The peak is the largest resident set of the command and of all its children that it
    waited for, taken one by one.
    """
    with tempfile.TemporaryFile() as output:
        start = time.perf_counter()
        child = subprocess.Popen(
            command,
            cwd=folder,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
        )
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
        output.seek(0)
        text = output.read().decode(errors="replace")
    if child.returncode != 0:
        sys.exit(f"{command[0]} ended with {child.returncode}:\n{text}")
    return seconds, usage.ru_maxrss, text


def batch_deck(plain):
    """The deck with what the batch program needs besides: an analysis."""
    lines = plain.splitlines()
    end = max(k for k, line in enumerate(lines) if line == ".end")
    return "\n".join(lines[:end] + [".op", ".end"]) + "\n"


def check_answers(program, circuit, state, batch, folder):
    """Ends the script unless both programs find the same voltage at every net."""
    _, _, text = run([program, "verify", circuit, "--state", state, "--json"], folder)
    nets = json.loads(text)["states"][0]["nets"]
    _, _, table = run(batch, folder)
    found = dict(re.findall(r"^\s*(n\d+)\s+(\S+)\s*$", table, re.M))
    for k, (name, volts) in enumerate(nets.items()):
        if name == "ground":
            continue
        ours = volts["nodal"]
        theirs = float(found.get(f"n{k}", "nan"))
        if not abs(ours - theirs) <= CHECK_VOLTS + CHECK_SHARE * abs(ours):
            sys.exit(f"net {name}: verify has {ours} V, the batch program {theirs} V")
