"""Opens the fitting sheet of every example in headless Chromium, reads it and prints it.

Usage: sheets.py PROGRAM FOLDER, where FOLDER takes the pages and their prints for a look at them.
"""

import pathlib
import subprocess
import sys

from playwright.sync_api import sync_playwright
from pypdf import PdfReader

ROOT = pathlib.Path(__file__).resolve().parents[2]
EVIL = "</title><script>document.title='run'</script><img src=http://127.0.0.1:9/x onerror=alert(1)> & ' " + "W" * 200
HOSTILE = f"""
system hostile "{EVIL}" {{
    pedal {{ ratio = 6  travel = 150 mm ± 2 mm }}
    master {{ bore = 19 mm  stroke = 36 mm }}
    slave {{ bore = 22.2 mm  stroke = 32 mm }}
    fork {{ ratio = 1.65 }}
    cover {{ release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }}
    require pedal_effort <= 10 N "{EVIL}"
    allow over-release "{EVIL}"
}}
"""
PAPERS = {"A4": (210, 297), "Letter": (215.9, 279.4)}
# Margins of the page on both sides together, in mm, and pixels in a mm.
MARGINS, PIXELS = 24, 96 / 25.4
# For whoever fits the kit; and with everything behind that.
PAGES, MOST_PAGES = 2, 10


def write_sheets(program, folder):
    specs = sorted(ROOT.glob("examples/*.clutch")) + sorted(ROOT.glob("examples/fails/*.clutch"))
    hostile = folder / "hostile.clutch"
    hostile.write_text(HOSTILE, encoding="utf-8")
    for spec in [*specs, hostile]:
        for is_full in (False, True):
            page = folder / f"{spec.stem}{'-full' if is_full else ''}.html"
            command = [program, "sheet", spec, "--output", page]
            if spec.stem == "kit":
                command[3:3] = ["larkfield_kit", "--pick", "master=yard_19,slave=hy_s22"]
            if is_full:
                command.append("--full")
            done = subprocess.run(command, cwd=ROOT, check=False)
            assert done.returncode in (0, 1), f"{spec}: exit status {done.returncode}"
            yield page, is_full


def check(browser, path, is_full):
    page = browser.new_page()
    requests, noise = [], []
    page.on("request", lambda request: requests.append(request.url))
    page.on("console", lambda message: noise.append(message.text))
    page.on("pageerror", lambda error: noise.append(str(error)))
    page.on("dialog", lambda dialog: noise.append(dialog.message))
    page.goto(path.as_uri())
    systems = page.locator("article").count()
    assert systems > 0, "no system"
    assert page.title().startswith("Fitting sheet"), page.title()
    drawings = page.locator("svg[role=img]").all()
    assert not is_full or len(drawings) >= systems, "a drawing is missing"
    for drawing in drawings:
        box = drawing.bounding_box()
        assert box["width"] > 300 and box["height"] > 100, f"a drawing of {box}"
        assert drawing.locator("text, line, polyline, path").count() > 5, "an empty drawing"
    for name, (width, height) in PAPERS.items():
        page.emulate_media(media="print")
        room = int((width - MARGINS) * PIXELS)
        page.set_viewport_size({"width": room, "height": int(height * PIXELS)})
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= room, f"{name}: {wide} px wide, {room} px of room"
        pdf = path.with_name(f"{path.stem}-{name}.pdf")
        page.pdf(path=pdf, format=name, prefer_css_page_size=False, print_background=True)
        pages = len(PdfReader(pdf).pages)
        # The contents of several systems take a page of their own.
        contents = 1 if systems > 1 else 0
        most = (MOST_PAGES if is_full else PAGES) * systems + contents
        assert systems <= pages <= most, f"{name}: {pages} pages"
    assert requests == [path.as_uri()], f"fetched {requests}"
    assert not noise, f"said {noise}"
    page.close()


def main():
    program, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    failed = count = 0
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
        )
        for path, is_full in write_sheets(program, folder):
            count += 1
            try:
                check(browser, path, is_full)
            except AssertionError as error:
                failed += 1
                print(f"{path.name}: {error}")
        browser.close()
    print(f"{count} sheets opened and printed on {' and '.join(PAPERS)}, {failed} failed")
    sys.exit(1 if failed or not count else 0)


main()
