#!/usr/bin/env python3
"""Deepest stack below a function: the frames of its call graph, added along the deepest path.

Frames come from the section .stack_sizes (the compiler's -Zemit-stack-sizes), calls from the disassembly. Recursion and calls
through pointers have no bound: both end it with an error. Behind the bound stands how many bytes of code the function and all
that it reaches take in flash, with the tables between the instructions; constants elsewhere are not counted.
usage: stack_bound.py ELF FUNCTION
"""
import re
import subprocess
import sys

elf, want = sys.argv[1:3]


def run(*args):
    return subprocess.run(args, capture_output=True, text=True, check=True).stdout


frames = {}
for line in run("llvm-readelf", "--stack-sizes", elf).splitlines():
    m = re.match(r"\s+(\d+)\s+(.+)", line)
    if m:
        for name in m[2].split(", "):
            frames[name] = int(m[1])

calls, pointers, starts, pages, pushed, current = {}, set(), {}, {}, {}, None
BRANCH = re.compile(r"(bl|blx|b|b\.w|b[a-z]{2}(\.w)?|cbn?z|j|jal|call|tail|jr|jalr|c\.j|c\.jal|bx)\b")
for line in run("llvm-objdump", "-d", "--no-show-raw-insn", elf).splitlines():
    m = re.match(r"([0-9a-f]+) <(.+)>:$", line)
    if m:
        if not m[2].startswith(("$", ".L")):
            current = m[2]
            calls.setdefault(current, set())
            starts[int(m[1], 16)] = current
        continue
    m = re.match(r"\s*([0-9a-f]+):\s+(\S+)\s*(.*)", line)
    if not m or current is None:
        continue
    at, op, rest = int(m[1], 16), m[2], m[3]
    # Hand-written functions have no frame of their own in the section: what they push and take is added up.
    if op.startswith(("push", "stmdb")) and (op.startswith("push") or rest.startswith("sp!")):
        registers = rest[rest.index("{") + 1 : rest.index("}")].split(",")
        wide = sum(1 + (int(r.split("-")[1].strip("r ")) - int(r.split("-")[0].strip("r ")) if "-" in r else 0) for r in registers)
        pushed[current] = pushed.get(current, 0) + 4 * wide
    take = re.match(r"sp, (?:sp, )?#(\d+)", rest)
    if op.startswith("sub") and take:
        pushed[current] = pushed.get(current, 0) + int(take[1])
    if op == "auipc":  # RISC-V: auipc rX, page; jalr low(rX)
        register, page = rest.split(", ")[:2]
        pages[register] = at + (int(page.split()[0], 0) << 12)
        continue
    far = re.search(r"(-?\d+)\((\w+)\)", rest)
    if op in ("jalr", "jr") and far and far[2] in pages:
        calls[current].add((pages[far[2]] + int(far[1])) & 0xFFFFFFFF)
        continue
    if not BRANCH.match(op):
        continue
    target = re.search(r"0x([0-9a-f]+)", rest)
    if target:
        calls[current].add(int(target[1], 16))
    elif op == "blx" or (op == "bx" and rest.strip() != "lr") or (op == "jalr" and rest.strip() not in ("zero", "ra")):
        pointers.add(current)

names = {f: {starts[a] for a in to if a in starts and starts[a] != f} for f, to in calls.items()}


def depth(f, above=()):
    if f in above:
        sys.exit(f"recursion through {f}: no bound")
    if f in pointers:
        sys.exit(f"a call through a pointer in {f}: no bound")
    deepest = max((depth(c, above + (f,)) for c in names.get(f, ())), default=(0, ()))
    frame = frames.get(f) or pushed.get(f, 0)
    return frame + deepest[0], ((f, frame),) + deepest[1]


def reached(f, found):
    if f not in found:
        found.add(f)
        for c in names.get(f, ()):
            reached(c, found)
    return found


sizes = {}
for line in run("nm", "-S", elf).splitlines():
    m = re.match(r"[0-9a-f]+ ([0-9a-f]+) [tTwW] (.+)", line)
    if m:
        sizes[m[2]] = int(m[1], 16)

if want not in names:
    sys.exit(f"{want} is not in {elf}")
total, path = depth(want)
print(total, sum(sizes.get(f, 0) for f in reached(want, set())))
print(" > ".join(f"{f} {n}" for f, n in path), file=sys.stderr)
