"""The sums of the generated specs, as a script with pint and scipy does them.

    python sums.py SPEC...

Prints the seconds that one spec took, without the start of Python. The fields are read with
regular expressions and pint; the chain is that of tests/oracles/car.py. Of each system, as
bitepoint does: all results in the middle and at both ends of the one tolerance.
"""

import math
import re
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[3] / "tests/oracles"))

import pint
from car import Car

units = pint.UnitRegistry()
TO = {"[length]": "mm", "[mass] * [length] / [time] ** 2": "N", "[mass] / [length] / [time] ** 2": "MPa"}
NUMBER = re.compile(r"^(-?[\d./]+)\s*(.*)$")


def quantity(text):
    if not (match := NUMBER.match(text)):
        return None
    number, unit = match.groups()
    number = float(number) if "/" not in number else float(number.split("/")[0]) / float(number.split("/")[1])
    unit = unit.replace("%", "percent").replace("cc/ft / 1000 psi", "cc/ft/(1000*psi)")
    value = number * units(unit) if unit else number * units.dimensionless
    if value.check("[length]"):
        return value.m_as("mm")
    if value.check("[force]"):
        return value.m_as("N")
    if value.check("[pressure]"):
        return value.m_as("MPa")
    if value.check("[force] / [length]"):
        return value.m_as("N/mm")
    if value.check("[length] ** 2 / [pressure]"):
        return value.m_as("mm^2/MPa")
    return value.m_as("") if value.dimensionless else value.to_base_units().magnitude


def fields(body):
    curve = re.search(r"(\w+)\s*=\s*curve\s*{([^}]*)}", body)
    if curve:
        points = [point.split(":") for point in curve[2].split(",") if ":" in point]
        yield curve[1], [tuple(quantity(x.strip()) for x in point) for point in points]
        body = body.replace(curve[0], "")
    for name, value in re.findall(r"(\w+)\s*=\s*(.+?)(?=\s{2,}\w+\s*=|\s*$)", body, re.MULTILINE):
        value = value.strip()
        if "±" in value:
            middle, half = (quantity(part.strip()) for part in value.split("±"))
            yield name, (middle, middle - half, middle + half)
        elif " to " in value:
            yield name, tuple(quantity(part) for part in value.split(" to "))
        elif (found := quantity(value)) is not None:
            yield name, found


def systems(text):
    text = re.sub(r"#.*", "", text)
    known = {}
    for name, base, body in re.findall(r'^system (\w+)(?: "[^"]*")?(?: from (\w+))? {\n(.*?)^}', text, re.M | re.S):
        values, lines = ({**known[base][0]}, known[base][1]) if base else ({}, [])
        for block, label, inside in re.findall(r"^    (\w+)(?: (\w+))? {((?:[^{}]|{[^{}]*})*)}", body, re.M):
            if label:
                lines = [*lines, dict(fields(inside))]
            else:
                values.update((f"{block}.{field}", value) for field, value in fields(inside))
        known[name] = values, lines
    return known


def work(path):
    results = []
    for values, lines in systems(Path(path).read_text()).values():
        banded = {key: value for key, value in values.items() if isinstance(value, tuple) and len(value) == 3}
        for corner in range(3 if banded else 1):
            here = {**values, **{key: value[corner] for key, value in banded.items()}}
            results.append(Car(here, lines).results()[0])
    return results


work(sys.argv[1])
began = time.perf_counter()
for path in sys.argv[1:]:
    last = work(path)
took = (time.perf_counter() - began) / (len(sys.argv) - 1)
assert all(math.isfinite(last[0][key]) for key in ("pedal_effort", "release_margin"))
print(took, last[0]["release_margin"], last[0]["pedal_effort"])
