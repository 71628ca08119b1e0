"""python compare.py [T1 ... T5]   (Linux, with peers.py's requirements and cargo; about five minutes for all.)

Runs the project's benches and peers.py one after the other and prints, for each task, time, error and added
memory of both sides and how many times ours a peer takes, one thread each. Ours is criterion's estimate
(slope, else mean), a peer's its best run, which favours the peers. A dash: not measured in this run.
"""

import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
CRITERION = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "criterion"
# Title, the bench on one thread, the bench on all.
TASKS = {
    "T1": ("PSF of a disc, 512 x 512", "wave/t1_disc_512", None),
    "T2": ("PSF of a burred outline, 512 x 512", "wave/t2_burred_512", None),
    "T3": ("775 PSFs of 256 x 256", "wave/t3_stack_775_one_thread", "wave/t3_stack_775"),
    "T4": ("picture of 12 megapixels", "form/t4_12mp_one_thread", "form/t4_12mp"),
    "T5": ("best diameter (error of its radius)", "target/t5_best_diameter", None),
}


def run_benches(names):
    """What the benches print; the times are in criterion's files."""
    wanted = "|".join(bench for name in names for bench in TASKS[name][1:] if bench)
    done = subprocess.run(["cargo", "bench", "--", wanted], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    if done.returncode:
        print(f"cargo bench ended with {done.returncode}", file=sys.stderr)
    return done.stdout


def run_peers(names):
    done = subprocess.run([sys.executable, HERE / "peers.py", *names], stdout=subprocess.PIPE, text=True, check=True)
    return json.loads(done.stdout)


def number(text):
    try:
        return float(text)
    except ValueError:
        return None


def claims(printed):
    """Error and added megabytes by bench, from lines `foramen ID error E added_mb M`."""
    lines = re.findall(r"^foramen (\S+) error (\S+) added_mb (\S+)\s*$", printed, re.MULTILINE)
    return {bench: (number(error), number(added)) for bench, error, added in lines}


def milliseconds(bench, since):
    """Criterion's estimate, unless it is of an earlier run."""
    path = CRITERION / bench / "new" / "estimates.json"
    if not path.exists() or path.stat().st_mtime < since:
        return None
    estimates = json.loads(path.read_text())
    return (estimates.get("slope") or estimates["mean"])["point_estimate"] / 1e6


def ours(bench, claimed, since):
    error, added = claimed.get(bench, (None, None))
    return {"ms": milliseconds(bench, since), "error": error, "mb": added}


def quotient(above, below):
    return above / below if above is not None and below else None


def show(value, form):
    return "-" if value is None else format(value, form)


def digits(ms):
    return ",.4f" if ms is not None and ms < 1 else ",.2f" if ms is not None and ms < 100 else ",.0f"


def line(name, of, ratio="", remark=""):
    cells = show(of["ms"], digits(of["ms"])), show(of["error"], ".1e"), show(of["mb"], ",.1f"), ratio
    return "  {:<56}{:>10}{:>10}{:>9}{:>10}  {}".format(name, *cells, remark).rstrip()


def table(task, claimed, results, since):
    """One task's lines."""
    title, one_thread, all_threads = TASKS[task]
    one = ours(one_thread, claimed, since)
    lines = ["", f"{task}  {title}", "  {:<56}{:>10}{:>10}{:>9}{:>10}".format("", "ms", "error", "MB", "/ ours")]
    if all_threads:
        every = ours(all_threads, claimed, since)
        # The same computation: a bench may state its error once.
        one = one | {key: every[key] for key in ("error", "mb") if one[key] is None}
        times = show(quotient(one["ms"], every["ms"]), ".2f")
        lines.append(line("foramen, all threads", every, remark=f"one thread takes {times} times this"))
    lines.insert(3, line("foramen", one, "1" if one["ms"] else "-"))
    peers = [
        {"route": r["route"], "ms": r["seconds"] * 1e3, "error": r["error"], "mb": r["added_mb"]}
        for r in results
        if r["task"] == task
    ]
    fastest = min(peers, key=lambda peer: peer["ms"], default=None)
    equals = [peer for peer in peers if one["error"] is not None and peer["error"] <= one["error"]]
    equal = min(equals, key=lambda peer: peer["ms"], default=None)
    for peer in sorted(peers, key=lambda peer: peer["ms"]):
        remarks = ["best of equal or better error"] * (peer is equal) + ["best at any error"] * (peer is fastest)
        lines.append(line(peer["route"], peer, show(quotient(peer["ms"], one["ms"]), ".2f"), ", ".join(remarks)))
    if equal is None:
        lines.append("  best of equal or better error: -")
    return lines


def main():
    names = sys.argv[1:] or list(TASKS)
    unknown = [name for name in names if name not in TASKS]
    if unknown:
        sys.exit(f"no task {', '.join(unknown)}; there are {', '.join(TASKS)}")
    since = time.time()
    claimed = claims(run_benches(names))
    document = run_peers(names)
    print(*(f"{key} {value}" for key, value in document.items() if isinstance(value, str)), sep=", ")
    for name in names:
        print(*table(name, claimed, document["results"], since), sep="\n")


if __name__ == "__main__":
    main()
