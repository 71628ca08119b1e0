"""pip install -r requirements.txt; python peers.py [T1 ... T5] > peers.json   (Linux, three minutes, 2 GB).

How long general-purpose numerical libraries take for five of the project's tasks, on one thread:

    T1  512 x 512 PSF of a disc (0.30 mm, 550 nm, 80 mm) over +-6 Airy radii
    T2  the same for a lobed, burred outline of 1,440 vertices (a polygon)
    T3  775 PSFs of that outline, 256 x 256 each: 31 wavelengths by 25 distances, one film grid
    T4  4000 x 3000 RGB float32 picture convolved with three 257 x 257 PSFs, mirrored at the borders
    T5  the disc with the smallest 80 % encircled-energy radius in the light of 31 wavelengths

Prints one JSON document: task, route, best and median seconds, largest error relative to the peak (T5: of
the radius relative to it, and of the diameter), and how far the first run raised the process's memory.
Only ratios of one run on one machine mean anything; compare.py makes them.
A route's time holds everything from the outline (or picture and PSFs) to the result, but not FFTW's planning.
"""

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"
# Set on some machines for old builds of OpenBLAS; they slow a current numpy.
for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)

import json
import platform
import statistics
import sys
import time
from pathlib import Path

import cv2
import finufft
import numpy as np
import pyfftw
import scipy
import threadpoolctl

from diameter_task import task_diameter
from picture_task import task_picture
from psf_tasks import task_disc, task_outline
from stack_task import task_stack


def status_kib(field):
    return int(Path("/proc/self/status").read_text().split(field + ":")[1].split()[0])


def first_run(job):
    """The result, and how many MB the run added at its highest (Linux)."""
    Path("/proc/self/clear_refs").write_text("5")
    before, result = status_kib("VmRSS"), job()
    return result, round((status_kib("VmHWM") - before) / 1024, 1)


def measure(task, route, job, truth):
    """Truth is the result without error, or a function from a result to its error."""
    result, added_mb = first_run(job)
    errors = truth(result) if callable(truth) else np.max(np.abs(result - truth)) / np.max(truth)
    errors = {k: float(f"{e:.2g}") for k, e in (errors if isinstance(errors, dict) else {"error": errors}).items()}
    del result
    seconds = []
    while len(seconds) < 4 or (sum(seconds) < 1.5 and len(seconds) < 500):
        start = time.perf_counter()
        job()
        seconds.append(time.perf_counter() - start)
    times = {"seconds": round(min(seconds), 7), "median": round(statistics.median(seconds), 7), "runs": len(seconds)}
    return {"task": task, "route": route, **times, **errors, "added_mb": added_mb}


def main():
    tasks = {"T1": task_disc, "T2": task_outline, "T3": task_stack, "T4": task_picture, "T5": task_diameter}
    results = [measure(name, *case) for name in sys.argv[1:] or tasks for case in tasks[name]()]
    versions = {library.__name__: library.__version__ for library in (np, scipy, finufft, pyfftw, cv2)}
    kernels = {pool["architecture"] for pool in threadpoolctl.threadpool_info() if "architecture" in pool}
    document = {"python": platform.python_version(), **versions, "openblas": sorted(kernels), "results": results}
    print(json.dumps(document, indent=1))


if __name__ == "__main__":
    main()
