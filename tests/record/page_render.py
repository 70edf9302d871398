#!/usr/bin/python3
"""The page as a browser shows and prints it: headless Chromium, and poppler's pdfinfo.

    page_render.py RECORD_SIMULATED

Of a usual job, of the longest page among a hundred and of one full of markup: two sheets at most of A4
and of Letter, no word on the console, no picture blank, light and dark not alike, print on white
whatever the scheme. Skipped (77) where either program is missing.
"""
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import zlib

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--hide-scrollbars", "--force-device-scale-factor=1", "--enable-logging=stderr"]
WIDTH, HEIGHT = 794, 2200  # A4 at 96 dots an inch, and long enough for any page
DARK = "--blink-settings=preferredColorScheme=0"


def read_png(path):
    """Rows of (r, g, b), of the 8-bit RGB(A) that Chromium writes (ISO/IEC 15948, 9.2: filters)."""
    with open(path, "rb") as file:
        data = file.read()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, packed = 8, b""
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at:at + 8])
        body = data[at + 8:at + 8 + length]
        if kind == b"IHDR":
            width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", body)
            assert depth == 8 and colour in (2, 6) and interlaced == 0
        if kind == b"IDAT":
            packed += body
        at += 12 + length
    size = 3 if colour == 2 else 4
    raw, rows, above = zlib.decompress(packed), [], bytearray(width * size)
    for y in range(height):
        start = y * (width * size + 1)
        kind, line = raw[start], bytearray(raw[start + 1:start + 1 + width * size])
        if kind == 1:
            for i in range(size, len(line)):
                line[i] = line[i] + line[i - size] & 255
        elif kind == 2:
            line = bytearray(a + b & 255 for a, b in zip(line, above))
        elif kind == 3:
            for i in range(len(line)):
                left = line[i - size] if i >= size else 0
                line[i] = line[i] + (left + above[i]) // 2 & 255
        elif kind == 4:
            for i in range(len(line)):
                a, b = (line[i - size] if i >= size else 0), above[i]
                c = above[i - size] if i >= size else 0
                p = a + b - c
                near = min((abs(p - a), 0, a), (abs(p - b), 1, b), (abs(p - c), 2, c))[2]
                line[i] = line[i] + near & 255
        rows.append(line)
        above = line
    return width, height, size, rows


def ink(png):
    """The corner's lightness, and the share of dots that differ plainly from it."""
    width, height, size, rows = png
    paper = rows[0][:3]
    other = 0
    for line in rows[::3]:
        for i in range(0, width * size, size * 3):
            other += abs(line[i] - paper[0]) + abs(line[i + 1] - paper[1]) > 60
    return sum(paper) / 3, other / (len(rows[::3]) * (width // 3 + 1))


def chromium(program, folder, page, *flags):
    run = subprocess.run(
        [program, *FLAGS, f"--user-data-dir={folder}/profile", *flags, f"file://{page}"],
        capture_output=True, text=True, timeout=120, check=True)
    said = [line for line in run.stderr.splitlines() if "CONSOLE" in line]
    assert not said, said


def shoot(program, folder, page, name, *flags):
    path = f"{folder}/{name}.png"
    chromium(program, folder, page, f"--window-size={WIDTH},{HEIGHT}", f"--screenshot={path}", *flags)
    return read_png(path)


def sheets(program, folder, page, size):
    """Printed on that paper: the page itself names none, so a copy that does stands for the printer's
    tray."""
    with open(page, encoding="utf-8") as file:
        text = file.read()
    sized = text.replace("@page{", "@page{size:" + size + ";", 1)
    assert sized != text
    copy, pdf = f"{folder}/{size}.html", f"{folder}/{size}.pdf"
    with open(copy, "w", encoding="utf-8") as file:
        file.write(sized)
    chromium(program, folder, copy, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", DARK)
    said = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    wanted = {"A4": "(A4)", "letter": "(letter)"}[size]
    assert wanted in said, said
    subprocess.run(["pdftoppm", "-r", "30", "-png", "-f", "1", "-l", "1", pdf, pdf], check=True)
    first = next(f"{folder}/{name}" for name in sorted(os.listdir(folder))
                 if name.startswith(f"{size}.pdf-"))
    lightness, share = ink(read_png(first))
    assert lightness > 250 and share > 0.02, (lightness, share)
    return int(re.search(r"^Pages: +(\d+)", said, re.M).group(1))


def picture_alone(page, name):
    """The page with nothing but one picture on it, to see that it is not blank."""
    style = re.search(r"<style>.*?</style>", page, re.S).group(0)
    picture = re.search(rf'<svg class="picture" id="{name}".*?</svg>', page, re.S).group(0)
    return f'<!DOCTYPE html><meta charset="utf-8"/>{style}<body>{picture}</body>'


def check(chrome, folder, name, page, pictures):
    path = f"{folder}/{name}.html"
    with open(path, "w", encoding="utf-8") as file:
        file.write(page)
    light, share = ink(shoot(chrome, folder, path, "light"))
    dark, dark_share = ink(shoot(chrome, folder, path, "dark", DARK))
    assert light > 240 and dark < 40, (light, dark)
    assert abs(share - dark_share) < 0.02, (share, dark_share)  # the same is seen in both
    for picture in pictures:
        alone = f"{folder}/alone.html"
        with open(alone, "w", encoding="utf-8") as file:
            file.write(picture_alone(page, picture))
        _, inked = ink(shoot(chrome, folder, alone, "alone"))
        assert inked > 0.002, (name, picture, inked)
    for size in "A4", "letter":
        count = sheets(chrome, folder, path, size)
        assert count <= 2, f"{name}: {count} sheets of {size}"
        print(f"{name}: {count} sheets of {size}, ink {share:.3f} light and {dark_share:.3f} dark")


def main():
    chrome = shutil.which("chromium")
    if chrome is None or shutil.which("pdfinfo") is None:
        print("skipped: install chromium and poppler-utils")
        sys.exit(77)
    program = sys.argv[1]

    def made(*arguments):
        return subprocess.run([program, *arguments], check=True, capture_output=True,
                              text=True).stdout

    with tempfile.TemporaryDirectory() as folder:
        check(chrome, folder, "usual", made("html", "1"), ("throws", "rounds", "causes"))
        check(chrome, folder, "longest", made("html", made("longest", "1", "101").strip()), ())
        check(chrome, folder, "spoiled", made("html", "2", "spoiled"), ())


main()
