"""Figures and the report as other programs see them. Arguments: the command line, a case, a folder to work in."""

import pathlib
import subprocess
import sys

import numpy as np
from PIL import Image

CLI, CASE, WORK = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
STYLET, FINAL, AP = "l4-right-lateral-stylet", "l4-right-lateral-final", "l4-right-ap-final"
FIGURES = {
    "shot": [FINAL, "--kind", "shot", "--width", "single", "--letters", "--scale-bar"],
    "before-after": [STYLET, FINAL, "--kind", "before_after", "--width", "double", "--letters"],
    "pair": [FINAL, AP, "--kind", "pair", "--width", "slide", "--ground", "dark", "--letters"],
    "sequence": [STYLET, FINAL, AP, "--kind", "sequence", "--width", "slide_4_3", "--letters", "--scale-bar"],
    "screen": [FINAL, AP],
}
WORDS = {
    "shot": ["depth", "does not guide a needle"],
    "before-after": ["From the first to the second", "does not guide a needle"],
    "pair": ["midline", "does not guide a needle"],
    "sequence": ["depth target, 30–50 %", "does not guide a needle"],
    "screen": ["lateral and AP combined", "does not guide a needle"],
}
# Anti-aliasing may differ along edges, a shifted or missing part would differ over an area: so much of the mean and so
# many of the pixels, compared at a third of their size, may be off by more than a fifth of the range.
MEAN, SHARE, OFF = 0.02, 0.01, 0.2
faults = []


def run(*words):
    return subprocess.run([str(w) for w in words], capture_output=True, check=False)


def check(condition, words):
    print(("ok   " if condition else "FAIL ") + words)
    if not condition:
        faults.append(words)


def grey(path, size):
    return np.asarray(Image.open(path).convert("RGB").resize(size, Image.BOX), float) / 255.0


def pdf(file, words):
    checked = run("qpdf", "--check", file)
    check(checked.returncode == 0, f"qpdf --check {file.name}")
    fonts = run("pdffonts", file).stdout.decode().splitlines()[2:]
    # Columns from the right: object ID (two numbers), uni, sub, emb.
    embedded = all(line.split()[-5] == "yes" and line.split()[-3] == "yes" for line in fonts)
    check(fonts and embedded, f"pdffonts {file.name}: {len(fonts)} fonts, embedded, with Unicode")
    text = run("pdftotext", "-layout", file, "-").stdout.decode()
    for expected in words:
        check(expected in text, f"pdftotext {file.name}: “{expected}”")
    told = run("pdfinfo", file).stdout.decode()
    check(not any(key in told for key in ("Title:", "Author:", "Creator:", "Producer:", "CreationDate:")),
          f"pdfinfo {file.name}: nothing is told of the document")
    return told


def alike(a, b, name):
    off = np.abs(a - b).max(axis=2)
    check(off.mean() < MEAN and (off > OFF).mean() < SHARE,
          f"{name}: mean difference {off.mean():.4f}, {(off > OFF).mean():.2%} of pixels off")


def same_bytes(arguments, file):
    first = file.read_bytes()
    run(CLI, *arguments, "--out", file)
    check(first == file.read_bytes(), f"{file.name} is the same from run to run")


for name, arguments in FIGURES.items():
    files = {}
    for ending in ("png", "svg", "pdf"):
        files[ending] = WORK / f"{name}.{ending}"
        made = run(CLI, "figure", CASE, *arguments, "--out", files[ending])
        check(made.returncode == 0, f"figure {name}.{ending} {made.stderr.decode()}")
        same_bytes(["figure", CASE, *arguments], files[ending])
    picture = Image.open(files["png"])
    picture.verify()
    check(not picture.info, f"Pillow {name}.png: whole, no metadata")
    width, height = Image.open(files["png"]).size
    small = (width // 3, height // 3)
    ours = grey(files["png"], small)
    pdf(files["pdf"], WORDS[name])
    run("rsvg-convert", "-w", width, "-h", height, files["svg"], "-o", WORK / f"{name}-svg.png")
    alike(ours, grey(WORK / f"{name}-svg.png", small), f"{name}: SVG by librsvg against PNG")
    run("pdftoppm", "-png", "-singlefile", "-scale-to-x", width, "-scale-to-y", height, files["pdf"], WORK / f"{name}-pdf")
    alike(ours, grey(WORK / f"{name}-pdf.png", small), f"{name}: PDF by poppler against PNG")

report = WORK / "report.pdf"
run(CLI, "report", CASE, "--out", report)
told = pdf(report, ["L4, patient's right", "L5, patient's left", "95 % interval", "Not a medical device"])
check("A4" in told, "pdfinfo report.pdf: A4")
same_bytes(["report", CASE], report)
letter = WORK / "letter.pdf"
run(CLI, "report", CASE, "--paper", "letter", "--out", letter)
check("612 x 792 pts (letter)" in run("pdfinfo", letter).stdout.decode(), "pdfinfo letter.pdf: US Letter")
questions = WORK / "questions.pdf"
run(CLI, "figure", CASE, FINAL, AP, "--questions", "--width", "slide", "--out", questions)
told = pdf(questions, ["How deep does the tip lie", "does not guide a needle"])
check("Pages:           4" in told, "pdfinfo questions.pdf: a page for each question and each answer")
print(f"{len(faults)} faults" if faults else "all figures hold up outside")
sys.exit(bool(faults))
