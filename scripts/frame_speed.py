#!/usr/bin/env python3
"""How long a picture and the first page take: frame_speed.py BOOK [PROGRAM].

Serves BOOK with PROGRAM (default target/release/meltrange), fetches 500 pictures of its recordings in
random order over one connection, as scrubbing does, and pages of samples, and prints percentiles in
milliseconds, also of the time from the program's start to its first page.
"""

import http.client
import json
import random
import subprocess
import sys
import time


def serve(program, book):
    began = time.perf_counter()
    child = subprocess.Popen(
        [program, "serve", book, "--port", "0", "--no-open"], stdout=subprocess.PIPE, text=True
    )
    address = child.stdout.readline().split(" at http://")[1].strip().rstrip("/")
    connection = http.client.HTTPConnection(address)
    connection.request("GET", "/")
    answer = connection.getresponse()
    answer.read()
    assert answer.status == 200, answer.status
    return child, connection, (time.perf_counter() - began) * 1e3


def get(connection, path, also=200):
    connection.request("GET", path)
    answer = connection.getresponse()
    body = answer.read()
    assert answer.status in (200, also), (path, answer.status, body[:200])
    return body if answer.status == 200 else None


def percentiles(name, times_ms):
    times_ms = sorted(times_ms)
    at = lambda part: times_ms[min(len(times_ms) - 1, int(part * len(times_ms)))]
    print(f"{name}: median {at(0.5):.1f} ms, 95 % {at(0.95):.1f} ms, most {times_ms[-1]:.1f} ms ({len(times_ms)})")


def main():
    book = sys.argv[1]
    program = sys.argv[2] if len(sys.argv) > 2 else "target/release/meltrange"
    starts_ms = []
    for _ in range(10):
        child, connection, took_ms = serve(program, book)
        starts_ms.append(took_ms)
        child.terminate()
        child.wait()
    child, connection, _ = serve(program, book)
    try:
        rows = json.loads(get(connection, "/api/recordings?per_page=500"))["rows"]
        pictures = []
        for row in rows:
            path = f"/api/recordings/{row['id']}/frames"
            # Those without pictures are passed over.
            times = get(connection, path, also=404)
            if times:
                pictures += [f"{path}/{n}" for n in range(json.loads(times)["count"])]
        random.seed(1)
        took_ms = []
        for path in random.choices(pictures, k=500):
            began = time.perf_counter()
            get(connection, path)
            took_ms.append((time.perf_counter() - began) * 1e3)
        lists_ms = []
        for _ in range(100):
            began = time.perf_counter()
            get(connection, "/api/samples?order=label&text=imaginary&per_page=50")
            lists_ms.append((time.perf_counter() - began) * 1e3)
    finally:
        child.terminate()
        child.wait()
    percentiles("start to first page", starts_ms)
    percentiles("a picture", took_ms)
    percentiles("a page of samples", lists_ms)


main()
