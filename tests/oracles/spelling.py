"""Values written in the language, in units of every kind, and what pint makes of the same words."""

import functools
import math

import pint

UREG = pint.UnitRegistry()

# The units in which this check computes: N, mm, MPa, and what follows from them.
INSIDE = {
    "number": "",
    "length": "mm",
    "volume": "mm^3",
    "force": "N",
    "pressure": "MPa",
    "stiffness": "N/mm",
    "expansion": "mm^3/mm/MPa",
    "angle": "rad",
    "density": "t/mm^3",
    "viscosity": "mm^2/s",
    "torque": "N*mm",
}

# How people write each.
WAYS = {
    "number": ["", "", "%"],
    "length": ["mm", "mm", "cm", "m", "in", "in", "ft"],
    "volume": ["cc", "ml", "l", "mm^3", "in^3", "cm^3"],
    "force": ["N", "kN", "lbf", "kgf"],
    "pressure": ["Pa", "kPa", "MPa", "GPa", "bar", "psi", "ksi", "N/mm^2", "lbf/in^2", "kgf/cm^2"],
    "stiffness": ["N/mm", "kN/m", "lbf/in", "kgf/mm", "N/cm", "lbf/ft"],
    "expansion": ["cc/ft/psi", "cc/m/bar", "ml/m/MPa", "cc/ft/ksi", "in^3/ft/psi", "mm^3/mm/MPa", "l/m/GPa"],
    "angle": ["deg", "rad"],
    "density": ["kg/m^3", "g/cc", "kg/l", "g/ml"],
    "viscosity": ["mm^2/s", "cm^2/s", "m^2/s", "in^2/min", "mm^2/ms"],
    "torque": ["N*m", "lbf*ft", "lbf*in", "kgf*m", "kN*mm"],
}


@functools.cache
def factor(unit, dimension):
    """What pint makes of one of a unit."""
    if dimension == "number":
        return 0.01 if unit == "%" else 1.0
    return float(UREG.Quantity(1.0, unit).m_as(INSIDE[dimension]))


def inside(number, unit, dimension):
    """A number of a unit, in the units of this check."""
    return number * factor(unit, dimension)


def outside(value, unit, dimension):
    return value / factor(unit, dimension)


def with_unit(number, unit):
    return f"{number:.15g} {unit}".rstrip()


class Speller:
    """Chooses units and ways of writing; gives the text and the value that it stands for."""

    def __init__(self, rng):
        self.rng = rng

    def plain(self, dimension, value, digits=6):
        """One number and its unit."""
        unit = self.rng.choice(WAYS[dimension])
        number = float(f"{outside(value, unit, dimension):.{digits}g}")
        return with_unit(number, unit), inside(number, unit, dimension)

    def value(self, dimension, value, digits=6):
        """One value, now and then as a fraction of an inch, a sum, or a quotient."""
        draw = self.rng.random()
        if dimension == "length" and value > 3.0 and draw < 0.15:
            return self.fraction(value)
        if dimension == "length" and draw < 0.22:
            part = self.rng.uniform(0.2, 0.8)
            (first, a), (second, b) = self.plain(dimension, value * part), self.plain(dimension, value * (1 - part))
            return f"{first} + {second}", a + b
        if dimension == "expansion" and draw < 0.4:
            # As data sheets have it: so much per length at such a pressure.
            pressure = self.rng.choice([(1000, "psi"), (10, "MPa"), (70, "bar")])
            per = inside(*pressure, "pressure")
            number = float(f"{value * per * 304.8 / 1000:.4g}")
            text = f"{with_unit(number, 'cc/ft')} / {with_unit(*pressure)}"
            amount = UREG.Quantity(number, "cc/ft") / UREG.Quantity(*pressure)
            return text, float(amount.m_as(INSIDE[dimension]))
        if dimension == "number" and draw < 0.2:
            other = self.rng.randint(2, 9)
            number = float(f"{value * other:.6g}")
            return f"{number:.15g} / {other}", number / other
        return self.plain(dimension, value, digits)

    def fraction(self, value):
        """The nearest 64th of an inch: 7/8 in, 1 1/8 in."""
        parts = max(1, round(value / 25.4 * 64))
        shorten = math.gcd(parts, 64)
        top, bottom = parts // shorten, 64 // shorten
        whole, rest = divmod(top, bottom)
        if bottom == 1:
            text = f"{whole} in"
        elif whole and self.rng.random() < 0.7:
            text = f"{whole} {rest}/{bottom} in"
        else:
            text = f"{top}/{bottom} in"
        return text, inside(parts / 64, "in", "length")


class Spec:
    """One system in the making: its text, and its values as pint reads them."""

    def __init__(self, name, speller):
        self.name = name
        self.assisted = True
        self.speller = speller
        self.values = {}
        self.dimensions = {}
        self.bands = {}
        self.lines = []
        self._blocks = {}
        self._line_texts = []
        self.relays = []
        self._relay_texts = []

    def put(self, path, dimension, value, digits=6):
        text, actual = self.speller.value(dimension, value, digits)
        self.word(path, text)
        self.values[path] = actual
        self.dimensions[path] = dimension
        return actual

    def word(self, path, text):
        """A field as it stands, without a value for this check; takes the place of an earlier one."""
        block, field = path.split(".")
        self._blocks.setdefault(block, {})[field] = text

    def drop(self, path):
        """Takes a field away, or with an empty name a whole block."""
        block, field = path.split(".")
        gone = [field] if field else list(self._blocks.get(block, {}))
        for name in gone:
            self._blocks.get(block, {}).pop(name, None)
            for kept in (self.values, self.dimensions, self.bands):
                kept.pop(f"{block}.{name}", None)
        if not self._blocks.get(block, {1: 1}):
            del self._blocks[block]

    def window(self, path, low, high):
        (first, a), (second, b) = self.speller.value("length", low), self.speller.value("length", high)
        self.word(path, f"{first} to {second}")
        self.values[path] = (a, b)

    def curve(self, path, dimensions, points):
        texts, actual = [], []
        for x, y in points:
            (first, a), (second, b) = (self.speller.plain(d, v) for d, v in zip(dimensions, (x, y)))
            texts.append(f"{first}: {second}")
            actual.append((a, b))
        self.word(path, "curve { " + ", ".join(texts) + " }")
        self.values[path] = actual

    def line(self, **fields):
        """A line; each field is (dimension, value)."""
        self.lines.append({})
        self._line_texts.append({})
        for field, (dimension, value) in fields.items():
            self._line_texts[-1][field], self.lines[-1][field] = self.speller.value(dimension, value)

    def relay(self, at, **fields):
        """A relay lever; each field is (dimension, value)."""
        self.relays.append({"at": at})
        self._relay_texts.append({"at": at})
        for field, (dimension, value) in fields.items():
            self._relay_texts[-1][field], self.relays[-1][field] = self.speller.value(dimension, value)

    def loosen(self, path, share):
        """Gives a value that is already there a tolerance of a share of it."""
        self.tolerance(path, self.dimensions[path], self.values[path], share * abs(self.values[path]))

    def loosen_line(self, number, field, dimension, share):
        value = self.lines[number][field]
        text, band = self.banded(dimension, value, share * value)
        self._line_texts[number][field] = text
        self.lines[number][field] = 0.5 * sum(band)
        self.bands[number, field] = band

    def tolerance(self, path, dimension, value, half):
        text, band = self.banded(dimension, value, half)
        self.word(path, text)
        self.values[path] = 0.5 * sum(band)
        self.dimensions[path] = dimension
        self.bands[path] = band

    def banded(self, dimension, value, half):
        """A value that may lie anywhere in a band: ± in a unit, ± in per cent, or two limits."""
        rng = self.speller.rng
        unit = rng.choice(WAYS[dimension])
        middle = float(f"{outside(value, unit, dimension):.6g}")
        way = rng.randrange(3)
        if way == 0:
            # Per cent would be of the value.
            own = dimension == "number"
            text, actual = (f"{half:.3g}", float(f"{half:.3g}")) if own else self.speller.plain(dimension, half, 3)
            sign = rng.choice(["±", "+/-"])
            low = inside(middle, unit, dimension) - actual
            high = inside(middle, unit, dimension) + actual
            text = f"{with_unit(middle, unit)} {sign} {text}"
        elif way == 1:
            per_cent = float(f"{100 * half / abs(value):.3g}")
            spread = abs(inside(middle, unit, dimension)) * per_cent / 100
            low = inside(middle, unit, dimension) - spread
            high = inside(middle, unit, dimension) + spread
            text = f"{with_unit(middle, unit)} ± {per_cent:.15g} %"
        else:
            ends = [float(f"{outside(value + side, unit, dimension):.7g}") for side in (-half, half)]
            low, high = (inside(end, unit, dimension) for end in ends)
            text = " to ".join(with_unit(end, unit) for end in ends)
        return text, (low, high)

    def text(self):
        rows = [f"system {self.name} {{"]
        for block, fields in self._blocks.items():
            body = "  ".join(f"{field} = {text}" for field, text in fields.items())
            rows.append(f"    {block} {{ {body} }}")
        for i, fields in enumerate(self._line_texts):
            body = ", ".join(f"{field} = {text}" for field, text in fields.items())
            rows.append(f"    line l{i} {{ {body} }}")
        for i, fields in enumerate(self._relay_texts):
            body = "  ".join(f"{field} = {text}" for field, text in fields.items())
            rows.append(f"    relay r{i} {{ {body} }}")
        return "\n".join([*rows, "}"])
