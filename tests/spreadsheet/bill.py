"""Opens a bill of materials in LibreOffice Calc and adds it up again.

Usage: bill.py PROGRAM FOLDER, where FOLDER takes the bill and what LibreOffice made of it.
"""

import pathlib
import subprocess
import sys
import xml.etree.ElementTree as xml
from decimal import Decimal

OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"

# A text that a spreadsheet would take for a formula, with quotes and a comma in it, and a part number that it would take
# for a number.
SPEC = '''
system bill {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm  number = "=1+1"  price = 48.50 USD }
    slave { bore = 22 mm  stroke = 32 mm  number = "7/8"" rod, long"  supplier = "@SUM(A1)"  quantity = 3  price = 39.95 USD }
    fork { ratio = 1.65  number = "-2+3"  price = 0.10 USD }
    cover { release_travel = 7.2 mm to 11.5 mm  release_load = 1500 N  price = 189.00 USD }
}
'''
# 48.50 + 3 × 39.95 + 0.10 + 189.00, by hand.
TOTAL = Decimal("357.45")


def rows(sheet):
    """The rows of the first table, each cell as its type and its content."""
    table = xml.parse(sheet).getroot().find(f".//{TABLE}table")
    for row in table.iter(f"{TABLE}table-row"):
        cells = []
        for cell in row.iter(f"{TABLE}table-cell"):
            assert cell.get(f"{TABLE}formula") is None, "a text became a formula"
            kind = cell.get(f"{OFFICE}value-type")
            shown = "\n".join("".join(part.itertext()) for part in cell.iter(f"{TEXT}p"))
            content = cell.get(f"{OFFICE}value") if kind == "float" else shown
            cells += [(kind, content)] * min(int(cell.get(f"{TABLE}number-columns-repeated", 1)), 20)
        yield cells


def main(program, folder):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    spec = folder / "bill.clutch"
    spec.write_text(SPEC, encoding="utf-8")
    made = subprocess.run([program, "bom", spec, "bill", "--format", "csv"], capture_output=True, check=False)
    assert made.returncode in (0, 1), made.stderr
    (folder / "bill.csv").write_bytes(made.stdout)
    # Field separator, text delimiter, UTF-8, from the first line on, as a reader's own settings have it.
    subprocess.run(
        ["soffice", "--headless", f"-env:UserInstallation={(folder / 'profile').resolve().as_uri()}",
         "--infilter=CSV:44,34,76,1", "--convert-to", "fods", "--outdir", folder, folder / "bill.csv"],
        check=True, stdout=subprocess.DEVNULL, timeout=300,
    )
    head, *body = [row for row in rows(folder / "bill.fods") if any(content for _, content in row)]
    titles = [content for _, content in head]
    at = {title: titles.index(title) for title in ("what", "number", "supplier", "quantity", "price", "sum")}
    total = body.pop()
    assert total[at["what"]][1] == "total", total
    added = Decimal(0)
    for row in body:
        quantity, price, cost = (row[at[name]] for name in ("quantity", "price", "sum"))
        assert quantity[0] == price[0] == cost[0] == "float", row
        assert Decimal(quantity[1]) * Decimal(price[1]) == Decimal(cost[1]), row
        added += Decimal(cost[1])
    assert added == Decimal(total[at["sum"]][1]) == TOTAL, (added, total)
    numbers = [row[at["number"]][1] for row in body]
    assert any('7/8" rod, long' in number for number in numbers), numbers
    print(f"LibreOffice opens the bill and adds up {added}: {', '.join(numbers)}")


main(*sys.argv[1:])
