#!/usr/bin/env python3
"""Viewers of a board: viewers.py URL STREAMS READERS BENCH...

STREAMS of them hear the events and ask /api/now every five seconds; READERS open one page after the other, with its
files and its data. Says "ready" once every one of them has been served, and on the end of its input what they got.
"""
import asyncio
import gzip
import json
import random
import re
import sys
import time
import urllib.parse

PAUSE_S = (2.0, 4.0)
POLL_S = 5.0


class Line:
    """A persistent connection; answers are read completely. A repeated request sends the tag of the previous answer."""

    def __init__(self, at, counts):
        self.at, self.counts, self.reader, self.writer, self.tags = at, counts, None, None, {}

    async def get(self, path):
        begin = time.monotonic()
        if self.writer is None:
            self.reader, self.writer = await asyncio.open_connection(*self.at)
        tag = f"If-None-Match: {self.tags[path]}\r\n" if path in self.tags else ""
        self.writer.write(f"GET {path} HTTP/1.1\r\nHost: {self.at[0]}:{self.at[1]}\r\nAccept-Encoding: gzip\r\n{tag}\r\n".encode())
        head = (await self.reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        status, fields = int(head[9:12]), {k.lower(): v.strip() for k, v in re.findall(r"^([^:\r\n]+):([^\r\n]*)", head, re.M)}
        if fields.get("content-type", "").startswith("text/event-stream"):
            return fields, None
        body = await self.reader.readexactly(int(fields.get("content-length", 0))) if status != 304 else b""
        if "etag" in fields:
            self.tags[path] = fields["etag"]
        if fields.get("connection", "").lower() == "close":
            self.close()
        self.counts["requests"] += 1
        self.counts["bytes"] += len(head) + len(body)
        self.counts["unchanged" if status == 304 else f"status {status}"] = self.counts.get("unchanged" if status == 304 else f"status {status}", 0) + 1
        self.counts["took"].append(time.monotonic() - begin)
        return fields, body

    def close(self):
        if self.writer:
            self.writer.close()
        self.writer = None


async def keep_on(work, counts):
    """A viewer that reconnects after a broken connection, as a browser does."""
    while True:
        try:
            await work()
        except (OSError, asyncio.IncompleteReadError, asyncio.LimitOverrunError):
            counts["broken"] += 1
            await asyncio.sleep(1)


async def stream(at, counts, served):
    line = Line(at, counts)

    async def listen():
        line.close()
        fields, body = await line.get("/api/events")
        if body is not None:
            raise ConnectionError("refused")
        counts["streams"] += 1
        while True:
            piece = await line.reader.read(65536)
            if not piece:
                raise ConnectionError("ended")
            served()
            counts["bytes"] += len(piece)
            counts["events"] += piece.count(b"event: ")
    await keep_on(listen, counts)


async def poll(at, counts):
    line = Line(at, counts)

    async def ask():
        line.close()
        while True:
            await line.get("/api/now")
            await asyncio.sleep(POLL_S)
    await asyncio.sleep(random.uniform(0, POLL_S))
    await keep_on(ask, counts)


async def read(at, counts, benches, served):
    line = Line(at, counts)

    def pages():
        bench = random.choice(benches)
        return [("/", ["/api/now"]), ("/season", ["/api/season"]), ("/ledger", ["/api/ledger?limit=60"]),
                (f"/bench/{bench}", [f"/api/season?bench={bench}", f"/api/benches/{bench}/air?hours=48", f"/api/benches/{bench}/orders?limit=100"])]

    async def turn():
        line.close()
        while True:
            page, data = random.choice(pages())
            _, body = await line.get(page)
            for file in files.setdefault(page, re.findall(rb'(?:src|href)="(/files/[^"]+)"', unzip(body))) if body else files[page]:
                await line.get(file.decode())
            for path in data:
                await line.get(path)
            served()
            await asyncio.sleep(random.uniform(*PAUSE_S))
    files = {}
    await asyncio.sleep(random.uniform(0, PAUSE_S[1]))
    await keep_on(turn, counts)


def unzip(body):
    return gzip.decompress(body) if body[:2] == b"\x1f\x8b" else body


async def main(url, streams, readers, benches):
    parts = urllib.parse.urlsplit(url)
    at, counts = (parts.hostname, parts.port), {"requests": 0, "bytes": 0, "events": 0, "streams": 0, "broken": 0, "took": []}
    waiting, all_served = {}, asyncio.Event()

    def serve(number):
        def served():
            if waiting.pop(number, None) and not waiting:
                all_served.set()
        waiting[number] = True
        return served
    tasks = [asyncio.create_task(work) for n in range(streams) for work in (stream(at, counts, serve(f"s{n}")), poll(at, counts))]
    tasks += [asyncio.create_task(read(at, counts, benches, serve(f"r{n}"))) for n in range(readers)]
    await asyncio.wait_for(all_served.wait(), 120)
    print("ready", flush=True)
    for key in ("requests", "bytes", "events", "broken"):
        counts[key] = 0
    counts["took"], begin = [], time.monotonic()
    await asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)
    seconds, took = time.monotonic() - begin, sorted(counts.pop("took")) or [0]
    for task in tasks:
        task.cancel()
    print(json.dumps({**counts, "seconds": seconds, "p50_ms": 1000 * took[len(took) // 2], "p99_ms": 1000 * took[min(len(took) - 1, len(took) * 99 // 100)]}), flush=True)


if __name__ == "__main__":
    asyncio.run(main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4:]))
