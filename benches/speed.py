#!/usr/bin/env python3
"""Speed and memory of `meltrange read`, as ratios to other ways of going through the same file.

Inputs are rendered once by `meltrange simulate` into the target folder and kept there. Before
anything is timed the answers are compared with the simulated truth. Each round times every way once,
so that a busy machine hits all of them; the table has medians.
"""

import json
import os
import platform
import shlex
import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
MELTRANGE = TARGET / "release" / "meltrange"
PLACE = TARGET / "bench-recordings"
ROUNDS = int(os.environ.get("ROUNDS", "3"))
# Readings further from the truth than this make the timing worthless [°C].
RIGHT_WITHIN_C = 0.5
MEGABYTE = 1e6


def run(command):
    """Run a command that must succeed; its standard output."""
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, command))}\nexit {done.returncode}\n{done.stderr[-2000:]}")
    return done.stdout


def wall_s(command):
    """Wall time of a command that must succeed [s]."""
    begin = time.perf_counter()
    run(command)
    return time.perf_counter() - begin


def peak_bytes(command):
    """Largest resident size of the process itself, without the decoder it starts [bytes].

    /proc keeps the high-water mark while the process lives; it is read until the process ends.
    """
    peak = 0
    with subprocess.Popen(
        [str(part) for part in command], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    ) as process:
        while process.poll() is None:
            try:
                status = Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
            except OSError:
                break
            fields = dict(line.split(":", 1) for line in status.splitlines() if ":" in line)
            # Until the program is loaded the numbers are still those of this script.
            if fields["Name"].strip() == MELTRANGE.name and "VmHWM" in fields:
                peak = max(peak, 1024 * int(fields["VmHWM"].split()[0]))
            time.sleep(0.005)
        error = process.stderr.read().decode()
    if process.returncode != 0:
        sys.exit(f"exit {process.returncode}: {error[-2000:]}")
    return peak


def text_of(path):
    """Text of a file; nothing when it is not there."""
    return path.read_text(encoding="utf-8") if path.exists() else None


def simulated(name):
    """Folder of a recording, rendered when it is not there yet or its scene has changed."""
    folder = PLACE / name
    scene = ROOT / "benches" / "scenes" / f"{name}.toml"
    if text_of(folder / "scene.toml") != text_of(scene):
        print(f"rendering {name} ...", file=sys.stderr)
        PLACE.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(folder, ignore_errors=True)
        run([MELTRANGE, "simulate", scene, "--out", folder])
    return folder


def encoded(path, source, filters, options):
    """A video made from another by ffmpeg, when it is not there yet or was made otherwise."""
    command = ["ffmpeg", "-nostdin", "-v", "error", "-y", "-i", str(source), "-vf", filters]
    command += ["-c:v", "libx264", "-preset", "veryfast", *options]
    made_by = path.with_suffix(".command")
    recipe = f"{shlex.join(command)}\n{source.stat().st_mtime_ns}\n"
    if not path.exists() or text_of(made_by) != recipe:
        print(f"encoding {path.name} ...", file=sys.stderr)
        unfinished = path.with_suffix(".unfinished.mp4")
        run([*command, unfinished])
        unfinished.rename(path)
        made_by.write_text(recipe, encoding="utf-8")
    return path


def machine():
    """Processor and cores as the system names them."""
    model = platform.machine()
    for line in (text_of(Path("/proc/cpuinfo")) or "").splitlines():
        if line.startswith("model name"):
            model = line.split(":", 1)[1].strip()
            break
    return f"{model}, {os.cpu_count()} cores"


def slowed_log(path, source, factor):
    """A temperature log with its times multiplied."""
    text = source.read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    slow = [lines[0]]
    for line in lines[1:]:
        seconds, rest = line.split(",", 1)
        slow.append(f"{float(seconds) * factor:.3f},{rest}")
    path.write_text("\n".join(slow) + "\n", encoding="utf-8")
    return path


def read_command(video, log):
    """How meltrange is called."""
    return [MELTRANGE, "read", video, "--temperature", log, "--json"]


def check_answers(reading, truth, name):
    """Stop when the reading is wrong; the largest error [°C] and how many lie within 2u."""
    errors = []
    for tube, true_tube in zip(reading["tubes"], truth["tubes"], strict=True):
        for moment in ("first_liquid", "last_crystal"):
            true_c = true_tube[moment]["temperature_c"]
            found = tube[moment]
            if found is None or abs(found["temperature_c"] - true_c) > RIGHT_WITHIN_C:
                sys.exit(f"{name}: tube {tube['tube']}: {moment} is {found}, truth {true_c:.2f} °C")
            error_c = abs(found["temperature_c"] - true_c)
            errors.append((error_c, error_c <= 2 * found["standard_uncertainty_c"]))
    return max(error for error, _ in errors), sum(within for _, within in errors), len(errors)


def timed(name, video, log, truth, peers):
    """Rows of the table for one recording."""
    command = read_command(video, log)
    reading = json.loads(run(command))
    worst_c, within, moments = check_answers(reading, truth, name)
    boxes = [
        ",".join(
            f"{tube['frame'][side]:.0f}"
            for side in ("left_px", "column_top_px", "right_px", "bottom_px")
        )
        for tube in reading["tubes"]
    ]
    ways = {
        "meltrange read": command,
        "ffmpeg decodes alone": ["ffmpeg", "-nostdin", "-v", "error", "-i", video, "-f", "null", "-"],
    }
    if peers:
        script = ROOT / "benches" / "peer" / "tube_means.py"
        ways["OpenCV means and texture"] = [sys.executable, script, video, *boxes]
    times = {way: [] for way in ways}
    for _ in range(ROUNDS):
        for way, how in ways.items():
            times[way].append(wall_s(how))
    peak = peak_bytes(command)
    medians = {way: statistics.median(seconds) for way, seconds in times.items()}
    print(f"\n### {name}\n")
    print(f"{within} of {moments} moments within 2u of the truth, the worst {worst_c:.3f} °C off; ", end="")
    print(f"{reading['frames_read']} pictures looked at; peak memory {peak / MEGABYTE:.0f} MB.\n")
    print("| way | median, s | runs, s | meltrange ÷ this |")
    print("|---|---|---|---|")
    for way, median in medians.items():
        runs = ", ".join(f"{seconds:.2f}" for seconds in times[way])
        print(f"| {way} | {median:.2f} | {runs} | {medians['meltrange read'] / median:.2f} |")


def main():
    """Make the inputs, measure, print."""
    run([MELTRANGE, "--version"])
    practical = simulated("practical")
    phone = simulated("phone")
    # Sensor noise that survives compression (about 4 Mbit/s) makes decoding as dear as on a real
    # phone; a key frame a second is what phones write.
    phone_30 = encoded(
        PLACE / "phone-30.mp4",
        phone / "video.mp4",
        "fps=30,noise=alls=7:allf=t",
        ["-crf", "22", "-g", "30", "-sc_threshold", "0", "-bf", "0"],
    )
    two_hours = encoded(
        PLACE / "two-hours.mp4", phone / "video.mp4", "setpts=8*PTS,fps=1", ["-crf", "24", "-g", "30"]
    )
    two_hours_log = slowed_log(PLACE / "two-hours.csv", phone / "temperature.csv", 8.0)

    commit = run(["git", "-C", ROOT, "describe", "--always", "--dirty"]).strip()
    print(f"{time.strftime('%Y-%m-%d')}, {machine()}, load {os.getloadavg()[0]:.1f} at the start, ", end="")
    print(f"{ROUNDS} rounds, {run([MELTRANGE, '--version']).strip()}, commit {commit}")
    truth = {
        folder: json.loads((folder / "truth.json").read_text(encoding="utf-8"))
        for folder in (practical, phone)
    }
    timed(
        "640×480, 10 frames/s, 5 min, H.264",
        practical / "video.mp4",
        practical / "temperature.csv",
        truth[practical],
        peers=True,
    )
    timed(
        "1280×720, 30 frames/s, 15 min, H.264, melting under 3 min",
        phone_30,
        phone / "temperature.csv",
        truth[phone],
        peers=False,
    )
    peak = peak_bytes(read_command(two_hours, two_hours_log))
    print(f"\n### 1280×720, 2 h at 1 frame/s\n\nPeak memory {peak / MEGABYTE:.0f} MB.")


if __name__ == "__main__":
    main()
