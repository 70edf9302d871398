#!/usr/bin/python3
"""Text from outside that means harm, through everything that midthrow prints or writes.

    text.py MIDTHROW SOURCES [all]

Without "all" four jobs hold all the strings, each in other places; with it there is a job for each.
Strings that would leave the markup, the string, the cue or the line they stand in, or steer a terminal, are
put wherever text can come from: an imported job's words, keys, names and bike; the journal's columns; riders'
names; profiles; names of files and folders; answers typed. Then every output is read by a strict reader:
pages and pictures by expat (W3C, XML 1.0), JSON by Python's (RFC 8259), captions by the rules of WebVTT
(W3C, WebVTT 1, section 4), and nothing may hold a control (Unicode 15, Cc and the bidirectional ones).
"""
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree

MIDTHROW, SOURCES = sys.argv[1], sys.argv[2]
WORK = tempfile.mkdtemp(prefix="midthrow-text-", dir="/dev/shm" if os.access("/dev/shm", os.W_OK) else None)
FAILED = []
COUNT = {"outputs": 0}

NASTY = [
    b"<script>alert(1)</script>", b"</title></style><b onload=x>", b"\"'><img src=x onerror=x>", b"&lt;&#0;&amp",
    b"]]>", b"<![CDATA[", b"<!-- -->", b"--><v tool>", b"00:00:00.000 --> 99:00:00.000", b"NOTE x\n\nWEBVTT",
    b"</svg><svg onload=x>", b"javascript:x", b"url(http://x/)", b"{keys} {phrase}", b"%s%n%1$s", b"$(id) `id` ;id",
    b"\\\"}],\"x\":[{", b"\\u0000", b"a\\", b"\x1b]0;title\x07", b"\x1b[2J\x1b[6n", b"\x1bP+q\x1b\\", b"\x9b2J",
    b"\xc2\x9b2J", b"\xc2\x85", b"\r\n\t\v\f\b", b"\x7f\x08\x08", b"\xe2\x80\xaedcba", b"\xe2\x81\xa6x", b"\xe2\x80\xa8x",
    b"\xff\xfe", b"\xc0\xaf", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"\xc3", b"\xef\xbf\xbe\xef\xbb\xbf", b"> accepted",
    b"2026-11-25T10:20:24.031Z  tool   engine on",
]
CONTROL = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


def fail(what, why):
    FAILED.append(what)
    print(f"FAILED: {what}: {why}"[:700])


def run(*words, stdin=b"", env=None, codes=(0,)):
    COUNT["outputs"] += 1
    what = b" ".join(word if isinstance(word, bytes) else word.encode() for word in words).decode("utf-8", "replace")
    try:
        made = subprocess.run([MIDTHROW, *words], input=stdin, capture_output=True, timeout=60,
                              env={**os.environ, **(env or {})}, check=False)
    except subprocess.TimeoutExpired:
        fail(what, "it goes on for ever")
        return ""
    if made.returncode not in codes:
        fail(what, f"exit code {made.returncode}: {made.stderr!r}")
    texts = []
    for stream in (made.stdout, made.stderr):
        try:
            text = stream.decode("utf-8")
        except UnicodeDecodeError as why:
            fail(what, why)
            text = stream.decode("utf-8", "replace")
        found = CONTROL.search(text)
        if found:
            fail(what, f"{found.group()!r} in {text[max(0, found.start() - 60):found.end() + 20]!r}")
        texts.append(text)
    if made.returncode != 0 and texts[0] == "" and texts[1].count("\n") != 1:
        fail(what, f"more or less than a line of complaint: {texts[1]!r}")
    return texts[0]


def strict_json(what, text):
    def once(pairs):
        keys = [key for key, _ in pairs]
        if len(set(keys)) != len(keys):
            raise ValueError(f"a key twice: {keys}")
        return dict(pairs)

    def refuse(word):
        raise ValueError(f"{word} is no JSON")
    try:
        return json.loads(text, object_pairs_hook=once, parse_constant=refuse)
    except ValueError as why:
        fail(what, f"no JSON: {why}")
        return None


def strict_xml(what, text, roots):
    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError as why:
        fail(what, f"not well formed: {why}")
        return
    for element in root.iter():
        name = element.tag.split("}")[-1]
        if name in ("script", "img", "b", "object", "iframe", "a", "link", "foreignObject"):
            fail(what, f"element {name}")
        for key in element.attrib:
            if key.startswith("on") or key in ("href", "src"):
                fail(what, f"attribute {key}")
    if root.tag.split("}")[-1] not in roots:
        fail(what, f"root {root.tag}")


def strict_vtt(what, text):
    blocks = text.rstrip("\n").split("\n\n")
    if not blocks[0].startswith("WEBVTT"):
        fail(what, "no captions")
    for block in blocks[1:]:
        lines = block.split("\n")
        if not re.fullmatch(r"\d\d+:\d\d:\d\d\.\d{3} --> \d\d+:\d\d:\d\d\.\d{3}", lines[0]):
            fail(what, f"not a cue: {block!r}")
        for line in lines[1:]:
            if "-->" in line or re.search(r"<(?!/?v[ >])", line) or re.search(r"&(?!(amp|lt|gt|nbsp|lrm|rlm|quot|#\d+);)",
                                                                          line):
                fail(what, f"a cue's text is more than text: {line!r}")


# ---- an imported job, and the columns beside it -------------------------------------------------------------

def told(string, most):
    """As the journal's events hold bytes: a string, or hexadecimal where they are no UTF-8."""
    string = string.replace(b"\0", b"")[:most]
    try:
        return string.decode("utf-8")
    except UnicodeDecodeError:
        return {"hex": string.hex()}


def string_at(first, place):
    return NASTY[(first + place) % len(NASTY)]


def spoiled_job(first, data):
    shutil.rmtree(data, ignore_errors=True)
    os.makedirs(data, mode=0o700)
    shutil.copy(f"{SOURCES}/tests/record/fixtures/journal-v1.sqlite", f"{data}/journal.sqlite")
    lines = run("export", "4", "--data", data).splitlines()
    events = [json.loads(line) for line in lines[2:]]
    opened = events[0]
    opened["bike"] = told(string_at(first, 0), 47)
    opened["names"] += [told(string_at(first, 1), 31), told(string_at(first, 2), 31)]
    out = [opened]
    for at, event in enumerate(events[1:]):
        out.append(event)
        more = {"kind": "heard", "at_ms": event["at_ms"], "source": ("ear", "typed", "pad")[at % 3], "verdict":
                ("accepted", "unsure", "rejected")[at // 3 % 3], "score": 0.5, "words": told(string_at(first, at), 200),
                "other": told(string_at(first, at + 1), 200)}
        if at % 3 == 2:
            more["keys"] = told(string_at(first, at + 2), 47)
        if at < len(NASTY):
            out.append(more)
        if event["kind"] == "profile_read":
            title = string_at(first, 3).decode("utf-8", "ignore")
            title = CONTROL.sub("", title).replace("\n", " ").replace("\\", "")
            event["profile"] = re.sub("bike.title=.*", lambda _: f"bike.title=x {title}", event["profile"])
        out.append({"kind": "profile_failed", "at_ms": event["at_ms"], "source": "station",
                    "words": told(string_at(first, at), 200)})
    with open(f"{data}/in", "w", encoding="utf-8") as file:
        for line in ({"midthrow": "jobs", "version": 1, "jobs": 1},
                     {"job": "0123456789abcdef0123456789abcdef", "events": len(out)}, *out):
            file.write(json.dumps(line) + "\n")
    run("import", f"{data}/in", "--data", data)


def spoiled_columns(first, data):
    def cast(place):
        return f"CAST(x'{string_at(first, place).hex()}' AS TEXT)"
    db = sqlite3.connect(f"{data}/journal.sqlite")
    for number in range(1, 5):
        db.execute(f"UPDATE jobs SET work_order = {cast(number)}, profile = {cast(number + 1)}, question ="
                   f" {cast(number + 2)}, ending = {cast(number + 3)}, bike = {cast(number + 4)}, cause ="
                   f" {cast(number + 5)} WHERE number = {number}")
        db.execute(f"INSERT INTO riders VALUES ({number}, {cast(number)})")
    db.commit()
    db.close()


def every_output(first):
    data = f"{WORK}/data"
    spoiled_job(first, data)
    spoiled_columns(first, data)
    what = f"from string {first}"
    strict_json(what, run("jobs", "--json", "--data", data))
    rows = strict_json(what, run("jobs", "--json", "--data", data)) or []
    if any(("rider" not in row and row["job"] < 5) or "bike" not in row or "work_order" not in row for row in rows):
        fail(what, "jobs --json leaves out what is no UTF-8")
    run("jobs", "--data", data)
    for number in ("5", "2", "3"):
        run("show", number, "--data", data)
        strict_json(what, run("show", number, "--json", "--data", data))
        run("show", number, "--transcript", "--data", data, codes=(0, 3))
        run("report", number, "--data", data)
        run("report", number, "--format", "transcript", "--data", data)
        strict_xml(what, run("report", number, "--format", "html", "--data", data), ("html",))
        strict_json(what, run("report", number, "--format", "json", "--data", data))
        strict_vtt(what, run("report", number, "--format", "vtt", "--data", data))
        run("why", number, "--data", data)
        strict_json(what, run("why", number, "--json", "--data", data))
    bike = string_at(first, 0)[:47]
    svg = f"{WORK}/bike.svg"
    if os.path.exists(svg):
        os.remove(svg)
    run("history", "--svg", svg, "--data", data, "--", bike, codes=(0, 2))
    text = run("history", "--json", "--data", data, "--", bike, codes=(0, 2))
    if text:
        strict_json(what, text)
    if os.path.exists(svg):
        with open(svg, encoding="utf-8") as file:
            strict_xml(what, file.read(), ("svg",))
    strict_json(what, run("shop", "--json", "--data", data))
    run("shop", "--data", data)
    for line in run("export", "--data", data).splitlines():
        strict_json(what, line)
    run("import", f"{data}/in", "--data", f"{WORK}/other", codes=(0, 1))
    run("--resume", "1", "--typed", "--data", data, stdin=b"\n".join(NASTY) + b"\0\0\nx\0y\nwhere are we\n")
    shutil.rmtree(f"{WORK}/other", ignore_errors=True)


# ---- names of files, words of the command line, profiles ------------------------------------------------------

def every_name(string):
    name = string.replace(b"\0", b"").replace(b"/", b"_")[:100]
    folder = os.path.join(WORK.encode(), b"n")
    shutil.rmtree(folder, ignore_errors=True)
    os.makedirs(folder, mode=0o700)
    path = os.path.join(folder, name)
    bad = (0, 1, 2, 3)
    run("import", path, "--data", folder, codes=bad)
    run("listen", "--grammar", "distance", path, codes=bad)
    run("listen", "--grammar", "distance", "--json", path, codes=bad)
    run("listen", "--grammar", name, path, codes=bad)
    run("--hear", path, "--data", folder, codes=bad)
    run("--reason", path, "--data", folder, codes=bad)
    run("--profile", name, "--typed", "--data", folder, codes=bad)
    run("--bike", name, "--new", "--typed", "--data", folder, stdin=b"4711\n", codes=bad)
    run("--rider", name, "--new", "--typed", "--data", folder, stdin=b"4711\n", codes=bad)
    run("jobs", "--data", path, codes=bad)
    run("jobs", "--bike", name, "--data", folder, codes=bad)
    run("jobs", "--cause", name, "--since", name, codes=bad)
    run("report", "1", "--format", name, "--data", folder, codes=bad)
    run("report", "1", "-o", path + b"/x", "--data", folder, codes=bad)
    run("profile", "show", name, codes=bad)
    run("show", name, codes=bad)
    run("torque", name, name, codes=bad)
    run("balance", "--forward", name, codes=bad)
    run(name, codes=bad)
    run(b"--" + name, codes=bad)
    os.makedirs(os.path.join(folder, b"profiles"), exist_ok=True)
    with open(os.path.join(folder, b"profiles", name + b".ini"), "wb") as file:
        file.write(b"[bike]\ntitle = " + string + b"\nsource = " + string + b"\n[" + string + b"]\n" + string + b" = 1\n")
    shutil.copy(os.path.join(folder, b"profiles", name + b".ini"), os.path.join(folder, b"profiles", b"plain.ini"))
    run("profile", "list", "--data", folder, codes=bad)
    strict_json(repr(string), run("profile", "list", "--json", "--data", folder, codes=bad))
    for which in (os.path.join(folder, b"profiles", name + b".ini"), b"plain"):
        run("profile", "check", which, "--data", folder, codes=bad)
        text = run("profile", "check", "--json", which, "--data", folder, codes=bad)
        if text:
            strict_json(repr(string), text)
    run("profile", "show", "plain", "--data", folder, codes=bad)
    run("--profile", "plain", "--typed", "--new", "--data", folder, stdin=b"4711\n", codes=bad)


for string in NASTY:
    every_name(string)
for start in range(0, len(NASTY), 1 if sys.argv[3:] == ["all"] else len(NASTY) // 4 + 1):
    every_output(start)
shutil.rmtree(WORK, ignore_errors=True)
print(f"{len(NASTY)} strings, {COUNT['outputs']} outputs read, {len(FAILED)} wrong")
sys.exit(1 if FAILED else 0)
