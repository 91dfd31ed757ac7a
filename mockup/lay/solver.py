"""The strip solver in a child process: ``python -m mockup.lay.solver``.

A native library that is given geometry can hang or take its process down with it; here it takes a child. The child
reads one JSON object from standard input and writes one line of JSON for every better lay that it finds, so that what
was found stays when it is stopped.

Input: ``{"height", "seconds", "seed", "items": [{"shape": [[x, y], …], "count", "turns"}]}``; a line of output:
``{"width", "items": [[index, turn, x, y], …]}``.
"""

from __future__ import annotations

import json
import sys
import threading
import time
from typing import Any


def main() -> None:
    """Solve what comes in on standard input."""
    import spyrrow

    task: dict[str, Any] = json.load(sys.stdin)
    items = [
        spyrrow.Item(str(k), [tuple(p) for p in item["shape"]], item["count"], item["turns"])
        for k, item in enumerate(task["items"])
    ]
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=max(2, round(task["seconds"])),
        num_workers=task.get("workers", 1),
        seed=task["seed"],
    )
    instance = spyrrow.StripPackingInstance("lay", task["height"], items)
    reports = spyrrow.ProgressQueue()
    done = threading.Event()
    out = threading.Lock()
    best = [float("inf")]

    def tell(solution: Any) -> None:
        with out:
            if solution.width >= best[0]:
                return
            best[0] = solution.width
            placed = [[int(i.id), i.rotation, *i.translation] for i in solution.placed_items]
            sys.stdout.write(json.dumps({"width": solution.width, "items": placed}) + "\n")
            sys.stdout.flush()

    def watch() -> None:
        feasible = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)
        while not done.is_set():
            for kind, solution in reports.drain():
                if kind in feasible:
                    tell(solution)
            time.sleep(0.2)

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    tell(instance.solve(config, reports))
    done.set()
    watcher.join()


if __name__ == "__main__":
    main()
