#!/usr/bin/env python3
"""The crates that are linked: their licenses, sources and doubled versions, and that none is built twice.

    .ci/supply.py          checks against .ci/supply.toml and that docs/licenses.txt is as it would be written
    .ci/supply.py --write  writes docs/licenses.txt anew

Reads Cargo.lock through `cargo metadata`; nothing is fetched that a build would not fetch. Counted is what the two
programs link on Linux, Windows and macOS, without tests and benchmarks.
"""

import collections
import json
import pathlib
import re
import subprocess
import sys
import tomllib

ROOT = pathlib.Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "licenses.txt"
RULES = tomllib.loads((ROOT / ".ci" / "supply.toml").read_text())
FILE = re.compile(r"(?i)(licen[sc]e|copying|notice|unlicense|copyright)")


def metadata():
    command = ["cargo", "metadata", "--locked", "--format-version", "1"]
    return json.loads(subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout)


def linked(data):
    """Packages that are part of the programs on the systems they are packaged for: normal dependencies with the features
    that a build turns on, without procedural macros."""
    named = set()
    for target in ("x86_64-unknown-linux-gnu", "x86_64-pc-windows-gnu", "aarch64-apple-darwin"):
        command = ["cargo", "tree", "--locked", "--target", target, "--edges", "normal,no-proc-macro"]
        command += ["--prefix", "none", "--no-dedupe", "--format", "{p}"]
        for line in subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout.splitlines():
            name, version = line.split()[:2]
            named.add((name, version.removeprefix("v")))
    root = data["resolve"]["root"]
    found = [one for one in data["packages"] if (one["name"], one["version"]) in named and one["id"] != root]
    return sorted(found, key=lambda package: (package["name"], package["version"]))


def built_twice():
    """Crates of the programs to which the tests' crates give more features: they, and all that is above them, would be built
    once for `cargo run` and once more for `cargo test`."""
    features = []
    for edges in ("normal,no-proc-macro", "normal,dev,no-proc-macro"):
        command = ["cargo", "tree", "--locked", "--edges", edges, "--prefix", "none", "--format", "{p} {f}"]
        lines = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout.splitlines()
        features.append({line.removesuffix("(*)").strip() for line in lines})
    crates = [{" ".join(line.split()[:2]) for line in one} for one in features]
    more = {" ".join(line.split()[:2]) for line in features[1] - features[0]}
    return sorted(more & crates[0])


def offers(expression):
    """The alternatives of a license expression, each the set of licenses that then hold together."""
    words = expression.replace("/", " OR ").replace("(", " ( ").replace(")", " ) ").split()
    alternatives, place = disjunction(words, 0)
    assert place == len(words), expression
    return alternatives


def disjunction(words, at):
    found, at = conjunction(words, at)
    while at < len(words) and words[at] == "OR":
        more, at = conjunction(words, at + 1)
        found = found + more
    return found, at


def conjunction(words, at):
    found, at = term(words, at)
    while at < len(words) and words[at] == "AND":
        more, at = term(words, at + 1)
        found = [one | other for one in found for other in more]
    return found, at


def term(words, at):
    if words[at] == "(":
        found, at = disjunction(words, at + 1)
        return found, at + 1
    if at + 1 < len(words) and words[at + 1] == "WITH":
        return [frozenset([f"{words[at]} WITH {words[at + 2]}"])], at + 3
    return [frozenset([words[at]])], at + 1


def chosen(package):
    """The licenses under which a crate is used, or none if no offer is allowed."""
    order = RULES["licenses"]
    fit = [offer for offer in offers(package["license"] or "none") if offer <= set(order)]
    return sorted(min(fit, key=lambda offer: sorted(map(order.index, offer))), key=order.index) if fit else None


def notices(package, licenses):
    """What the crate itself says of the licenses chosen: the text of each file that is about them."""
    folder = pathlib.Path(package["manifest_path"]).parent
    files = sorted(file for file in folder.iterdir() if file.is_file() and FILE.match(file.name))
    files += sorted(file for file in folder.glob("fonts/*.txt"))
    about = {"MIT": "MIT", "Apache-2.0": "APACHE", "Unlicense": "UNLICENSE", "Zlib": "ZLIB", "CC0-1.0": "CC0"}
    others = [name for license, name in about.items() if license not in licenses]
    mine = [name for license, name in about.items() if license in licenses]
    keep = [file for file in files if not any(name in file.name.upper() for name in others)]
    named = [file for file in keep if any(name in file.name.upper() for name in mine)]
    return [text(file) for file in (named or keep)]


def text(file):
    lines = [line.rstrip() for line in file.read_text(errors="replace").strip().splitlines()]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines))


def page(packages):
    """Every crate with its license and source, then each text once with the crates that carry it."""
    lines = [
        "Stillmark is licensed under MIT or Apache-2.0, at your choice.",
        "It contains the following works of others, each under the license named. Their sources are at https://crates.io.",
        "The texts follow, each with the works that carry it. A work without a text of its own is under the MIT or Apache-2.0",
        "text as Stillmark itself; those two stand in LICENSE-MIT and LICENSE-APACHE.",
        "",
    ]
    texts = collections.defaultdict(list)
    for package in packages:
        licenses = chosen(package) or [package["license"] or "none"]
        name = f"{package['name']} {package['version']}"
        lines.append(f"{name}: {' and '.join(licenses)}")
        for notice in notices(package, licenses):
            texts[apache(notice)].append(name)
    for notice, names in sorted(texts.items(), key=lambda item: item[1]):
        lines += ["", "=" * 100, "", ", ".join(dict.fromkeys(names)), "", notice]
    return "\n".join(lines) + "\n"


def apache(notice):
    """The Apache license without its appendix, so that one text stands for all that differ in spaces only."""
    if "Apache License" not in notice[:200]:
        return notice
    body = notice.split("END OF TERMS AND CONDITIONS")[0]
    return APACHE if " ".join(body.split())[:2000] == " ".join(APACHE.split())[:2000] else notice


APACHE = text(ROOT / "LICENSE-APACHE").split("END OF TERMS AND CONDITIONS")[0].rstrip()


def faults(packages):
    found = []
    versions = collections.defaultdict(list)
    for package in packages:
        name = f"{package['name']} {package['version']}"
        versions[package["name"]].append(package["version"])
        if chosen(package) is None:
            found.append(f"{name}: its license, {package['license']}, is not in .ci/supply.toml")
        if package["source"] not in RULES["sources"]:
            found.append(f"{name}: comes from {package['source']}, which is not in .ci/supply.toml")
    double = {name: all for name, all in versions.items() if len(all) > 1}
    reasons = RULES["duplicates"]
    found += [
        f"{name}: linked as {' and '.join(all)}; make it one, or give the reason in .ci/supply.toml"
        for name, all in double.items()
        if name not in reasons
    ]
    found += [f"{name}: is no longer doubled; take it out of .ci/supply.toml" for name in reasons if name not in double]
    return found


def main():
    packages = linked(metadata())
    written = page(packages)
    found = faults(packages)
    if "--write" in sys.argv[1:]:
        PAGE.write_text(written)
    elif not PAGE.exists() or PAGE.read_text() != written:
        found.append("docs/licenses.txt is not what is linked: run .ci/supply.py --write")
    found += [
        f"{crate}: the tests' crates give it more features, so that it is built twice; see the end of [dependencies]"
        for crate in built_twice()
    ]
    for fault in found:
        print(fault)
    print(f"{len(packages)} crates linked, {len(found)} faults")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
