"""Runs the benchmark program and turns its rows into the figures that people read. Called by tools/bench."""

import argparse
import json
import pathlib
import resource
import statistics
import subprocess
import sys
import time


def measure(program, pattern, repetitions):
    """Rows of one benchmark run by name; of repetitions the median."""
    command = [program, f"--benchmark_filter={pattern}", "--benchmark_format=json",
               f"--benchmark_repetitions={repetitions}"]
    if repetitions > 1:
        command.append("--benchmark_report_aggregates_only=true")
    run = subprocess.run(command, stdout=subprocess.PIPE, check=True)
    rows = json.loads(run.stdout)["benchmarks"]
    return {row["run_name"]: row for row in rows if repetitions == 1 or row.get("aggregate_name") == "median"}


def time_of(rows, name):
    """CPU time of one row, in nanoseconds."""
    row = rows[name]
    return row["cpu_time"] * {"ns": 1, "us": 1e3, "ms": 1e6, "s": 1e9}[row["time_unit"]]


def against_ns3(rows):
    """Ratios to the fastest scheduler of Debian's ns-3, where there is one."""
    def best(size):
        times = [time_of(rows, name) for name in rows if name.startswith("queue/hold/ns3_") and name.endswith(f"/{size}")]
        return min(times, default=None)

    return {f"hold_{label}_vs_ns3_debian": best(size) / time_of(rows, f"queue/hold/ours/{size}")
            for label, size in (("1e5", 100000), ("1e6", 1000000)) if best(size) is not None}


def queue_figures(rows):
    def baseline(kind, size):
        return min(time_of(rows, f"queue/{kind}/{peer}/{size}") for peer in ("std_plain", "std_branch"))

    def ratio(kind, size):
        return baseline(kind, size) / time_of(rows, f"queue/{kind}/ours/{size}")

    return {
        "hold_1e5_vs_std": ratio("hold", 100000),
        "hold_1e6_vs_std": ratio("hold", 1000000),
        "restart_1e5_vs_std": ratio("restart", 100000),
        "restart_1e5_vs_boost": time_of(rows, "queue/restart/boost_dary/100000") / time_of(rows, "queue/restart/ours/100000"),
        "growth_1e3_1e6": time_of(rows, "queue/hold/ours/1000000") / time_of(rows, "queue/hold/ours/1000"),
    } | against_ns3(rows)


def fork_figures(rows):
    return {"copy_us": time_of(rows, "fork/copy") / 1e3,
            "copy_afresh_us": time_of(rows, "fork/copy_afresh") / 1e3,
            "hash_us": time_of(rows, "fork/hash") / 1e3}


def building_figures(rows):
    """The building of 10,000 modules and 1,000 plates, and what a device costs in time in the largest against the smallest."""
    def per_device(size):
        return time_of(rows, f"building/day/{size}") / size

    figures = {key: rows["building/day/11000"][key]
               for key in ("realtime_factor", "bytes_per_device", "script_bytes_per_device")}
    return figures | {"growth_per_device_1100_110000": per_device(110000) / per_device(1100)}


def plot_building(rows, path):
    """The time of a day against the size of the building, with a straight line through the smallest beside it."""
    import matplotlib  # Debian's; only who wants a plot needs it
    matplotlib.use("svg")
    from matplotlib import pyplot
    sizes = sorted(int(row.rsplit("/", 1)[1]) for row in rows)
    times = [time_of(rows, f"building/day/{size}") / 1e6 for size in sizes]
    figure, axes = pyplot.subplots(figsize=(7, 4.5))
    axes.loglog(sizes, times, "o-", color="#00486b", label="measured")
    axes.loglog(sizes, [times[0] * size / sizes[0] for size in sizes], "--", color="#777777", label="in proportion")
    axes.set(xlabel="devices", ylabel="milliseconds for a day, one core", title="A day in a building, by its size")
    axes.set_xticks(sizes, [f"{size:,}" for size in sizes])
    axes.minorticks_off()
    axes.legend()
    figure.tight_layout()
    figure.savefig(path, metadata={"Date": None})


def counters(name, *keys):
    """Figures that a benchmark counts itself."""
    return lambda rows: {key: rows[name][key] for key in keys if key in rows[name]}


def diagnosis_figures(rows):
    """The old figures, of calls that say much, and beside them those of conversations about calls as people make them."""
    told_much = rows["diagnosis/telephone_calls/iterations:1"]
    natural = rows["diagnosis/natural_calls/iterations:1"]
    keys = ("cases", "top1_single", "top3_single", "top1_double", "top3_double", "isolated", "checks_mean", "cured", "cured_first",
            "cured_checked", "median_s", "worst_s")
    figures = {key: told_much[key] for key in keys if key in told_much}
    first = ("first_cure_single", "first_cure_double", "sure_but_wrong", "needless_electricians", "steps_ratio")
    by_class = sorted(key for key in natural if key.startswith(("natural_", "first_cure_")) and key not in first)
    return figures | {key: natural[key] for key in (*first, *by_class) if key in natural}


def compare_with_spin(build):
    """Figures of our explorer, of Spin and of a plain search on the same abstract protocol, and what makes them ratios."""
    command = ["python3", "tests/spin/agreement.py", "compare", build / "tests" / "explore_addressing", "--json"]
    figures = json.loads(subprocess.run(command, stdout=subprocess.PIPE, check=True).stdout)
    for peer in ("spin", "plain"):
        figures[f"rate_vs_{peer}"] = figures["ours_states_per_s"] / figures[f"{peer}_states_per_s"]
        figures[f"bytes_vs_{peer}"] = figures["ours_bytes_per_state"] / figures[f"{peer}_bytes_per_state"]
    return figures


def firmware_figures(rows):
    def ratio(kind):
        return time_of(rows, f"firmware/{kind}/reference") / time_of(rows, f"firmware/{kind}/built_in")

    return {"overhead": ratio("suite"), "overhead_sweep": ratio("sweep"), "overhead_events": ratio("events")}


def processor_s():
    """Seconds of processors that the processes started so far have taken."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def from_start_to_exit(command, times):
    """Median seconds on the clock and of processors that a process takes, start and end included."""
    clocks, processors = [], []
    for _ in range(times):
        before, began = processor_s(), time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
        clocks.append(time.perf_counter() - began)
        processors.append(processor_s() - before)
    return statistics.median(clocks), statistics.median(processors)


def command_figures(build):
    """What people wait for: `run` of the main scenario, and `check` of all that ship, on as many threads as there are cores."""
    program = str(build / "drybus")
    run_s, run_processor_s = from_start_to_exit([program, "run", "scenarios/training/setup-split.yaml"], 51)
    check_s, check_processor_s = from_start_to_exit([program, "check", "scenarios"], 11)
    return {"run_ms": 1e3 * run_s, "run_processor_ms": 1e3 * run_processor_s,
            "check_s": check_s, "check_processor_s": check_processor_s}


# NAME: (pattern of its benchmarks, repetitions, how the figures come from the rows)
SUITES = {
    "queue": ("^queue/", 3, queue_figures),
    "fork": ("^fork/", 5, fork_figures),
    "building": ("^building/", 3, building_figures),
    "firmware": ("^firmware/", 5, firmware_figures),
    "sweep": ("^sweep/", 3, counters("sweep/main_scenario", "runs_per_s")),
    # Once: a thousand calls of the old kind and some hundred conversations, and the same whenever they are made.
    "diagnosis": ("^diagnosis/", 1, diagnosis_figures),
    "hunt": ("^hunt/site_1x3", 3, counters("hunt/site_1x3", "states_per_s", "bytes_per_state")),
}
# NAME: what measures its figures itself, without the benchmark program
PROGRAMS = {"commands": command_figures, "spin": compare_with_spin}


def figures_of_suite(name, build):
    pattern, repetitions, figures_of = SUITES[name]
    rows = measure(str(build / "drybus_bench"), pattern, repetitions)
    if not rows:
        sys.exit(f"tools/bench: no benchmark matches {pattern}")
    return rows, figures_of(rows)


def table(name, rows, figures):
    print(f"\n{name}")
    for row in sorted(rows):
        print(f"  {row:<44} {rows[row]['cpu_time']:>14.2f} {rows[row]['time_unit']}")
    for figure, value in figures.items():
        print(f"  {figure:<44} {value:>14.4g}")


def main():
    parser = argparse.ArgumentParser(prog="tools/bench")
    parser.add_argument("build", type=pathlib.Path)
    parser.add_argument("name", nargs="?", choices=sorted([*SUITES, *PROGRAMS]))
    parser.add_argument("--json", metavar="FILE")
    parser.add_argument("--plot", metavar="FILE", help="of building: time against size, as SVG")
    options = parser.parse_args()
    all_figures = {}
    for name in [options.name] if options.name else [*SUITES, *PROGRAMS]:
        if name in PROGRAMS:
            rows, all_figures[name] = {}, PROGRAMS[name](options.build)
        else:
            rows, all_figures[name] = figures_of_suite(name, options.build)
        table(name, rows, all_figures[name])
        if options.plot and name == "building":
            plot_building(rows, options.plot)
    if options.json:
        pathlib.Path(options.json).write_text(json.dumps(all_figures, indent=1) + "\n")


main()
