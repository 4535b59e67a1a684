"""DICOM objects that the command line writes, as other programs see them.

    python dicom_out.py STILLMARK_CLI DEMONSTRATION.case.json WORK_FOLDER

dciodvfy (dicom3tools) and dcmpschk, dsrdump (dcmtk) check their form; highdicom reads the report's groups, whose numbers
must equal `read --json` to 1e-9; pydicom reads the overlay's lines, whose tip must lie at the marked place to 0.1 px; and
storescp and storescu (dcmtk) carry all of them over the network protocol.
"""
import json
import pathlib
import shutil
import subprocess
import sys
import time

import highdicom
import numpy
import pydicom
from pydicom.dataset import FileDataset, FileMetaDataset
from pydicom.uid import ExplicitVRLittleEndian, generate_uid

cli, demonstration, work = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
CHARSETS = {
    "ISO_IR 100": "Bücher^Änne",
    "\\ISO 2022 IR 87": "Yamada^Tarou=山田^太郎=やまだ^たろう",
    "\\ISO 2022 IR 149": "Hong^Gildong=洪^吉洞=홍^길동",
    "GB18030": "Wang^XiaoDong=王^小东",
}
wrong = []


def check(ok, what):
    if not ok:
        wrong.append(what)


def run(*arguments):
    done = subprocess.run([cli, *map(str, arguments)], capture_output=True, text=True)
    check(done.returncode == 0, f"{arguments}: {done.stderr}")
    return done.stdout


def form(path):
    """Errors of form, by the two validators."""
    said = subprocess.run(["dciodvfy", "-new", path], capture_output=True, encoding="utf-8", errors="replace")
    errors = [line for line in (said.stdout + said.stderr).splitlines() if line.startswith("Error")]
    check(not errors, f"{path.name}: dciodvfy: {errors[:3]}")
    said = subprocess.run(["dcmpschk", path], capture_output=True, encoding="utf-8", errors="replace")
    check("Test passed" in said.stdout + said.stderr, f"{path.name}: dcmpschk: {said.stderr[-300:]}")
    if path.name == "report.dcm":
        said = subprocess.run(["dsrdump", path], capture_output=True, encoding="utf-8", errors="replace")
        # Its warnings are of character sets that it does not know.
        errors = [line for line in said.stderr.splitlines() if line.startswith(("E:", "F:"))]
        check(said.returncode == 0 and not errors, f"{path.name}: dsrdump: {errors[:3]}")


def groups(report):
    content = highdicom.sr.srread(report).content
    return {g.tracking_identifier: g for g in content.get_image_measurement_groups()}


def readings(folder, case):
    """Numbers of the report against those of the command line."""
    read = json.loads(run("read", "--json", case))[0]["readings"]
    compared = 0
    of_report = groups(folder / "report.dcm")
    for place, reading in enumerate(read):
        group = of_report.get(f"shot-{place + 1}")
        if group is None:
            continue
        keys = [("depth", "DEPTH", 100), ("height", "HEIGHT", 100), ("across", "ACROSS", 100),
                ("medial_border", "MEDIAL_BORDER", 100), ("lateral_offset", "LATERAL_OFFSET", 1), ("radius", "RADIUS", 1)]
        for measured in group.get_measurements():
            method = measured.method.value if measured.method else ""
            source = reading if method != "TRUE_VIEW" else reading.get("true_view") or {}
            for key, code, unit in keys:
                if measured.name.value == code and source.get(key):
                    exact = measured[0].MeasuredValueSequence[0].FloatingPointValue
                    check(abs(exact - unit * source[key]["value"]) <= 1e-9, f"shot-{place + 1} {code} {exact}")
                    sd = [i for i in measured[0].ContentSequence if i.ValueType == "NUM"
                          and i.ConceptNameCodeSequence[0].CodeValue == "STANDARD_UNC"]
                    check(abs(sd[0].MeasuredValueSequence[0].FloatingPointValue - unit * source[key]["sd"]) <= 1e-9,
                          f"shot-{place + 1} {code} sd")
                    compared += 1
    return compared


def tips(folder, case):
    """The crosses of the overlays against the marked tips, in pixels."""
    worst, seen = 0.0, 0
    for place, shot in enumerate(json.loads(case.read_text())["shots"]):
        path = folder / f"shot-{place + 1}-overlay.dcm"
        if not path.exists() or not shot["marks"].get("tip"):
            continue
        tip = numpy.array(shot["marks"]["tip"][0])
        middles = []
        for annotation in pydicom.dcmread(path).GraphicAnnotationSequence:
            for graphic in annotation.get("GraphicObjectSequence", []):
                points = numpy.array(graphic.GraphicData).reshape(-1, 2)
                if annotation.GraphicLayer == "TIP" and len(points) == 2:
                    middles.append(points.mean(axis=0))
        worst = max(worst, min(numpy.abs(middle - tip).max() for middle in middles))
        seen += 1
    check(seen > 0 and worst < 0.1, f"tips drawn {worst} px off")
    return seen, worst


def source(path, charset, name, frames, study):
    """An image of the kind that archives hold, invented."""
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = "1.2.840.10008.5.1.4.1.1.12.1"
    meta.MediaStorageSOPInstanceUID = generate_uid()
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    data = FileDataset(str(path), {}, file_meta=meta, preamble=b"\0" * 128)
    data.SpecificCharacterSet = charset.split("\\") if "\\" in charset else charset
    data.SOPClassUID, data.SOPInstanceUID = meta.MediaStorageSOPClassUID, meta.MediaStorageSOPInstanceUID
    data.PatientName, data.PatientID, data.PatientBirthDate, data.PatientSex = name, "ID-4711", "19010203", "O"
    data.StudyInstanceUID, data.SeriesInstanceUID, data.StudyID = study, generate_uid(), "ST-1"
    data.StudyDate, data.StudyTime, data.AccessionNumber, data.ReferringPhysicianName = "20200101", "0101", "AC-1", ""
    data.Modality, data.InstanceNumber = "XA", 1
    data.Rows, data.Columns, data.SamplesPerPixel, data.PhotometricInterpretation = 768, 768, 1, "MONOCHROME2"
    data.BitsAllocated, data.BitsStored, data.HighBit, data.PixelRepresentation = 16, 12, 11, 0
    if frames > 1:
        data.NumberOfFrames = frames
    ramp = numpy.arange(frames * 768 * 768, dtype="<u2") % 4096
    data.PixelData = ramp.astype("<u2").tobytes()
    data.save_as(path, enforce_file_format=True)


def beside_sources():
    """One case for each character set, its images DICOM files, the second of several frames."""
    files = 0
    marked = json.loads(demonstration.read_text())
    shots = [s for s in marked["shots"] if s.get("stage") == "final"][:2]
    for number, (charset, name) in enumerate(CHARSETS.items()):
        folder = work / f"charset-{number}"
        folder.mkdir()
        study = generate_uid()
        case = {k: v for k, v in marked.items() if k not in ("shots", "rereadings", "figures")}
        case["shots"] = []
        for place, shot in enumerate(shots):
            source(folder / f"{place}.dcm", charset, name, 1 + 2 * place, study)
            kept = {k: v for k, v in shot.items() if k not in ("sha256", "digest", "pair_with")}
            case["shots"].append({**kept, "image": f"{place}.dcm", "frame": 2 * place})
        (folder / "a.case.json").write_text(json.dumps(case))
        for mode in ([], ["--beside-source"]):
            out = folder / ("out" + "".join(mode))
            run("dicom", folder / "a.case.json", "--out", out, "--as-is" if not mode else "--beside-source")
            for path in sorted(out.iterdir()):
                form(path)
                files += 1
                data = pydicom.dcmread(path)
                if mode:
                    check(str(data.PatientName) == str(pydicom.dcmread(folder / "0.dcm").PatientName), f"{path} name")
                    check(data.StudyInstanceUID == study, f"{path} study")
                else:
                    check(str(data.PatientName) == "ANONYMOUS" and data.StudyInstanceUID != study, f"{path} identity")
            readings(out, folder / "a.case.json")
    return files


def received(folder):
    """A receiver on this machine takes all files over the network protocol."""
    inbox = work / "inbox"
    inbox.mkdir()
    port = "11199"
    receiver = subprocess.Popen(["storescp", "+xa", "-od", inbox, port], stderr=subprocess.PIPE)
    # Until it listens; an echo is the protocol's own question whether it does.
    for _ in range(60):
        if subprocess.run(["echoscu", "127.0.0.1", port], capture_output=True).returncode == 0:
            break
        time.sleep(0.5)
    paths = sorted(folder.glob("*.dcm"))
    sent = subprocess.run(["storescu", "-R", "127.0.0.1", port, *map(str, paths)], capture_output=True, encoding="utf-8", errors="replace")
    receiver.terminate()
    count = len(list(inbox.iterdir()))
    check(sent.returncode == 0 and count == len(paths), f"received {count} of {len(paths)}: {sent.stderr[-300:]}")
    return count


out = work / "demonstration"
run("dicom", demonstration, "--out", out)
for path in sorted(out.iterdir()):
    form(path)
count = len(list(out.iterdir()))
compared = readings(out, demonstration)
check(compared >= 40, f"only {compared} numbers were compared")
seen, worst = tips(out, demonstration)
more = beside_sources()
taken = received(out) if shutil.which("storescp") else 0
print(f"{count + more} files checked, {compared} numbers of the report equal, {seen} tips drawn within {worst:.4f} px, "
      f"{taken} files received, {len(wrong)} wrong")
for line in wrong[:20]:
    print(line)
sys.exit(1 if wrong else 0)
