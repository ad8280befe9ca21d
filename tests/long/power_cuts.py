#!/usr/bin/env python3
"""Cuts the power of a store again and again and looks at what is left. Needs root, FUSE and loop devices (Debian:
gcc pkg-config libfuse3-dev fuse3 e2fsprogs). Takes minutes.

  cargo build --release -p coilwright-store --example power
  tests/long/power_cuts.py target/release/examples/power [CUTS] [SEED]

A writer works on an ext4 file system whose disk (powerdisk.c) logs every write and flush. A cut is a place in that log:
everything before the last flush is on the disk, of the rest every sector of 512 bytes is there or not by the throw of a
coin, so that writes are torn and in another order. From each cut a disk is made, mounted and opened by `power check`:
every entry acknowledged before the cut must be there, in the journal and, if it was backed up, in a backup that
verifies.
"""
import os, random, shutil, struct, subprocess, sys, tempfile, time
from collections import Counter

HERE = os.path.dirname(os.path.abspath(__file__))
SECTOR = 512
MOST_LOG = 900 << 20


def run(*words):
    return subprocess.run(words, check=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True).stdout.strip()


def recorded(power, work, seconds):
    """Lets the writer work on the logged disk; what it said with the length of the log at each line."""
    image, log, fuse, shop = (os.path.join(work, name) for name in ("image", "log", "fuse", "shop"))
    os.mkdir(fuse), os.mkdir(shop)
    run("truncate", "-s", "192M", image)
    run("mkfs.ext4", "-q", "-E", "lazy_itable_init=0,lazy_journal_init=0", image)
    run("cp", "--sparse=always", image, os.path.join(work, "base"))
    disk = subprocess.Popen([os.path.join(work, "powerdisk"), image, log, fuse])
    said, loop = [], None
    try:
        time.sleep(0.5)
        loop = run("losetup", "-f", "--show", os.path.join(fuse, "disk"))
        run("mount", "-o", "noatime", loop, shop)
        begun = os.stat(log).st_size
        writer = subprocess.Popen([power, "write", shop, "16", str(seconds)], stdout=subprocess.PIPE, text=True)
        for line in writer.stdout:
            said.append((os.stat(log).st_size, line))
            if said[-1][0] > MOST_LOG:
                writer.kill()
        writer.wait()
        ended = os.stat(log).st_size
        run("umount", shop)
    finally:
        if loop:
            subprocess.run(["losetup", "-d", loop])
        subprocess.run(["fusermount3", "-u", fuse])
        disk.wait()
    return said, begun, ended, log


def records(log):
    with open(log, "rb") as file:
        end = 0
        while kind := file.read(1):
            if kind == b"F":
                end += 1
                yield end, None, None
            else:
                offset, size = struct.unpack("<QI", file.read(12))
                end += 13 + size
                yield end, offset, file.read(size)


def main():
    power, cuts = os.path.abspath(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 500
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 7
    dice = random.Random(seed)
    work = tempfile.mkdtemp(prefix="power-cuts-")
    flags = run("pkg-config", "--cflags", "--libs", "fuse3").split()
    run("cc", "-O2", "-o", os.path.join(work, "powerdisk"), os.path.join(HERE, "powerdisk.c"), *flags, "-lpthread")
    said, begun, ended, log = recorded(power, work, seconds=4)
    acknowledged = sum(line.startswith("ack ") for _, line in said)
    first = next(at for at, line in said if line.startswith("ack "))
    # A fifth of the cuts before the first acknowledgement: that is the first start.
    early = cuts // 5
    places = sorted([dice.randint(begun, first) for _ in range(early)] + [dice.randint(first, ended) for _ in range(cuts - early)])
    all_records = list(records(log))
    flushes = sum(offset is None for _, offset, _ in all_records)
    print(f"seed {seed}: {acknowledged} acknowledged, {len(all_records) - flushes} writes, {flushes} flushes, {ended >> 20} MiB", flush=True)
    base, cut, look = (os.path.join(work, name) for name in ("base", "cut", "look"))
    os.mkdir(look)
    tally, examples, done, torn = Counter(), {}, 0, 0
    with open(base, "r+b") as synced:
        for place in places:
            end = flushed = done
            while end < len(all_records) and all_records[end][0] <= place:
                end += 1
                if all_records[end - 1][1] is None:
                    flushed = end
            for _, offset, data in all_records[done:flushed]:
                if offset is not None:
                    synced.seek(offset), synced.write(data)
            synced.flush()
            done = flushed
            run("cp", "--sparse=always", base, cut)
            with open(cut, "r+b") as file:
                for _, offset, data in all_records[flushed:end]:
                    for at in range(0, len(data), SECTOR):
                        if dice.random() < 0.5:
                            file.seek(offset + at), file.write(data[at : at + SECTOR])
                        else:
                            torn += 1
            heard = "".join(line for at, line in said if at <= place)
            run("mount", "-o", "loop,noatime", cut, look)
            try:
                checked = subprocess.run([power, "check", look], input=heard, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=120)
            finally:
                run("umount", look)
            word = checked.stdout.split(" ")[0].strip() if checked.returncode in (0, 1) else "died"
            tally[word] += 1
            examples.setdefault(word, checked.stdout.strip()[:400])
    print(f"{cuts} cuts ({early} during the first start), {torn} sectors left out: {dict(tally)}")
    for word, text in examples.items():
        print(f"  {word}: {text}")
    shutil.rmtree(work)
    sys.exit(0 if set(tally) <= {"good", "good-and-cut"} else 1)


main()
