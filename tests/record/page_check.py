#!/usr/bin/python3
"""The pages of simulated jobs, read by a strict reader.

    page_check.py RECORD_SIMULATED

Each must be well-formed XML (W3C, XML 1.0, as Python's expat reads it), hold nothing that runs and name
nothing outside itself, whatever the job held; and text from outside must be there as text.
"""
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree

SEEDS = (1, 161)
XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
ELEMENTS = {XHTML + name for name in
            "html head meta title style body header footer section div h1 h2 p dl dt dd ul ol li "
            "table thead tbody tr th td figure strong span i".split()} | {
            SVG + name for name in
            "svg title desc defs pattern line rect circle path text".split()}
ATTRIBUTES = set(
    "lang charset http-equiv content name class scope id viewBox role aria-labelledby width height "
    "patternUnits patternTransform x1 y1 x2 y2 x y cx cy r d fill".split())


def pages(program, *more):
    made = subprocess.run(
        [program, "html-lines", str(SEEDS[0]), str(SEEDS[1]), *more],
        check=True, capture_output=True).stdout
    return [part.decode("utf-8") for part in made.split(b"\0") if part]


def check(number, page, seen):
    root = ElementTree.fromstring(page)
    ids = set()
    for element in root.iter():
        assert element.tag in ELEMENTS, f"page {number}: element {element.tag}"
        seen.add(element.tag)
        for name, value in element.attrib.items():
            assert name in ATTRIBUTES, f"page {number}: attribute {name}"
            if name == "id":
                assert value not in ids, f"page {number}: id {value} twice"
                ids.add(value)
            if name == "fill":
                assert re.fullmatch(r"url\(#[a-z]+-hatch\)", value), value
    for element in root.iter(SVG + "svg"):
        for name in element.attrib["aria-labelledby"].split():
            assert name in ids, f"page {number}: no {name}"
        for text in element.find(SVG + "title"), element.find(SVG + "desc"):
            assert text.text.strip(), f"page {number}: a picture without words"
    for element in root.iter(XHTML + "style"):
        assert "url(" not in element.text and "@import" not in element.text
    for policy in root.iter(XHTML + "meta"):
        if policy.attrib.get("http-equiv") == "Content-Security-Policy":
            break
    else:
        sys.exit(f"page {number}: no policy")
    bad = [c for c in page if (ord(c) < 32 and c != "\n") or 0x7F <= ord(c) < 0xA0
           or 0x202A <= ord(c) <= 0x202E or 0x2066 <= ord(c) <= 0x2069]
    assert not bad, f"page {number}: {bad!r}"
    return "".join(root.itertext())


def main():
    program = sys.argv[1]
    seen = set()
    clean = pages(program)
    for number, page in enumerate(clean):
        check(number, page, seen)
    spoiled = pages(program, "spoiled")
    for number, page in enumerate(spoiled):
        words = check(number, page, seen)
        for text in ("</h1><script>alert(1)</script>", "a\" onload=\"x'<i>&amp;", "<b>\\x1B[2J\"&",
                     "<img src=x onerror=alert(1)> \\x9B\\xFF\\xC0\\xAF \\xE2\\x80\\xAE ]]> <!--",
                     "</li></ul><a href='javascript:1'>", "<em>what</em>",
                     "\"<svg onload=alert(1)>\\x0A\" became \"'\"><style>*{}\""):
            assert text in words, f"page {number}: {text} is not there as text"
        for live in ("<script", "<img", "<a ", "<b>", "<em", "onload=\""):
            assert live not in page, f"page {number}: {live}"
    missing = ELEMENTS - seen
    assert not missing, f"never seen, so never checked: {missing}"
    print(f"{len(clean)} pages and {len(spoiled)} spoiled ones are well-formed and hold only text")


main()
