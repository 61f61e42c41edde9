"""Holds the program against outside libraries: scipy, numpy, pint, uncertainties, fluids.

    python tests/oracles/oracles.py [PROGRAM [GROUP…]]

PROGRAM is target/release/bitepoint if it is not given; the groups are the functions in `GROUPS`.

Writes random specs in the language, in units of every kind, has the program work them out, and works them
out again here, solved implicitly by scipy's root finders, with every unit converted by pint. Prints one line
for each group; the last line counts. Exit status 1 if any group fails.
"""

import copy
import json
import math
import random
import re
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path

import fluids
import numpy as np
import uncertainties
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

sys.dont_write_bytecode = True

from car import PRESS, RETURN, Car, into
from drag import Dragging
from intensifier import Stepped
from levers import Levered
from spelling import UREG, WAYS, Spec, Speller, inside

ROOT = Path(__file__).resolve().parents[2]
BINARY = Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "target/release/bitepoint").resolve()

# The units in which results are promised; this check's own come out in the same.
UNITS = {"", "mm", "N", "MPa", "J", "s", "cc", "N*m", "deg"}


# --- the program ---


def run(text, *arguments):
    """Standard output of the program on a spec, and its exit status."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "spec.clutch"
        path.write_text(text, encoding="utf-8")
        done = subprocess.run([BINARY, *arguments[:1], path, *arguments[1:]], capture_output=True, text=True, encoding="utf-8")
    if done.returncode not in (0, 1):
        raise RuntimeError(f"the program could not run: {done.stderr}")
    return done.stdout


def calc(specs, *arguments):
    """The systems of some specs, worked out by the program, by name."""
    texts = [spec if isinstance(spec, str) else spec.text() for spec in specs]
    answer = json.loads(run("\n".join(texts), "calc", "--format", "json", *arguments))
    systems = {system["name"]: system for system in answer["systems"]}
    for spec in specs:
        name = spec.split()[1] if isinstance(spec, str) else spec.name
        if not systems.get(name, {}).get("results"):
            text = spec if isinstance(spec, str) else spec.text()
            found = [f"{f['check']}: {f['message']}" for f in answer["findings"] if f["severity"] == "error"]
            raise RuntimeError(f"no results for\n{text}\n" + "\n".join(found[:5]))
    return systems


def value(system, name, key="results"):
    found = system[key].get(name)
    if found is None:
        return None
    assert found["unit"] in UNITS, found
    return found["value"]


# --- the count ---


class Group:
    """What is compared, how often, and how far off the worst is."""

    groups = []

    def __init__(self, what, library, tolerance):
        self.what, self.library, self.tolerance = what, library, tolerance
        self.count, self.worst, self.where, self.failures = 0, 0.0, "", []
        Group.groups.append(self)

    def off(self, mine, theirs, scale):
        return abs(mine - theirs) / max(abs(mine), abs(theirs), scale)

    def same(self, where, mine, theirs, scale=1e-3, text="", tolerance=None):
        """Equal to within the tolerance, of the larger of the two, or of `scale` where both are smaller."""
        self.count += 1
        if mine is None and theirs is None:
            return
        if mine is None or theirs is None or not (math.isfinite(mine) and math.isfinite(theirs)):
            self.fail(where, f"here {mine}, there {theirs}", text)
            return
        off = self.off(mine, theirs, scale)
        if off > self.worst:
            self.worst, self.where = off, where
        if off > (tolerance or self.tolerance):
            self.fail(where, f"here {mine:.12g}, there {theirs:.12g}, off by {off:.2g}", text)

    def fail(self, where, message, text=""):
        self.failures.append((where, message, text))

    def report(self):
        word = "FAIL" if self.failures else "ok  "
        print(f"{word} {self.what}: {self.count} compared, worst relative difference {self.worst:.1e} (allowed {self.tolerance:.0e}; {self.where}), {self.library}", flush=True)
        for where, message, text in self.failures[:5]:
            print(f"     {where}: {message}")
        shown = {text for _, _, text in self.failures[:2] if text}
        for text in shown:
            print("\n".join(f"       {row}" for row in text.splitlines()))
        if len(self.failures) > 5:
            print(f"     and {len(self.failures) - 5} more")


# --- random systems ---


def maybe(rng, chance, value):
    return value if rng.random() < chance else None


def put_some(spec, fields):
    for path, (dimension, value) in fields.items():
        if value is not None:
            spec.put(path, dimension, value)


def pedal(spec, rng, travel=(110, 180), ratio=(4.5, 7.5)):
    wanted, u = rng.uniform(*ratio), rng.uniform
    spec.put("pedal.travel", "length", u(*travel))
    if rng.random() < 0.45:
        spec.put("pedal.ratio", "number", wanted)
    else:
        arm = spec.put("pedal.pad_arm", "length", u(250, 360))
        rod = spec.put("pedal.rod_arm", "length", arm / wanted)
        if rng.random() < 0.6:
            spec.put("pedal.arm_angle", "angle", u(-0.15, 0.4))
        if rng.random() < 0.6:
            spec.put("pedal.rod_length", "length", rod * u(1.8, 4))
    put_some(spec, {
        "pedal.efficiency": ("number", maybe(rng, 0.7, u(0.8, 0.99))),
        "pedal.return_force": ("force", maybe(rng, 0.6, u(2, 30))),
        "pedal.free_play": ("length", maybe(rng, 0.5, u(1, 15))),
        "pedal.stop": ("length", maybe(rng, 0.2, u(90, 170))),
    })
    if spec.assisted and rng.random() < 0.35:
        places = sorted(u(0, 150) for _ in range(rng.randint(2, 5)))
        if min(b - a for a, b in zip(places, places[1:])) > 0.5:
            spec.curve("pedal.assist", ("length", "force"), [(x, u(-20, 45)) for x in places])


def cover(spec, rng, load=(900, 2600)):
    u = rng.uniform
    needed = u(5.5, 9)
    spec.window("cover.release_travel", needed, needed + u(2, 5))
    if rng.random() < 0.25:
        spec.put("cover.release_load", "force", u(*load))
    else:
        places = [0.0 if rng.random() < 0.6 else u(0.1, 1)]
        for _ in range(rng.randint(1, 6)):
            places.append(places[-1] + u(0.6, 3))
        high = u(*load)
        rise = [0.0 if rng.random() < 0.3 else u(0.03, 0.3) * high, *(high * u(0.55, 1) for _ in places[1:])]
        spec.curve("cover.release_load", ("length", "force"), list(zip(places, rise)))
    if rng.random() < 0.6:
        spec.put("cover.finger_ratio", "number", u(2.8, 4.5))
        spec.put("disc.wear", "length", u(0.4, 2.4))
        spec.put("disc.outer", "length", u(200, 260))
        spec.put("disc.inner", "length", u(130, 170))
        spec.put("disc.friction", "number", u(0.2, 0.4))
    put_some(spec, {
        "bearing.free_play": ("length", maybe(rng, 0.5, u(0.3, 3))),
        "bearing.max_travel": ("length", maybe(rng, 0.3, u(7, 18))),
    })


def lines(spec, rng):
    u = rng.uniform
    for _ in range(rng.randint(1, 4)):
        fields = {"bore": ("length", u(2.5, 6)), "length": ("length", u(150, 2500))}
        kind = rng.randrange(4)
        if kind in (0, 1):
            fields["expansion"] = ("expansion", u(0.02, 0.25))
        elif kind == 2:
            fields["wall"] = ("length", u(0.5, 1.2))
            if rng.random() < 0.6:
                fields["modulus"] = ("pressure", u(2e3, 210e3))
                fields["poisson"] = ("number", u(0.25, 0.42))
        spec.line(**fields)


def hydraulic(spec, rng, concentric=False):
    u = rng.uniform
    pedal(spec, rng)
    spec.put("master.bore", "length", u(22, 28) if concentric else u(17, 24))
    put_some(spec, {
        "master.stroke": ("length", u(20, 40)),
        "master.port_travel": ("length", maybe(rng, 0.7, u(0.3, 2))),
        "master.rod_clearance": ("length", maybe(rng, 0.5 if "pedal.free_play" not in spec.values else 0, u(0.2, 2))),
        "master.efficiency": ("number", maybe(rng, 0.7, u(0.85, 0.99))),
        "master.return_force": ("force", maybe(rng, 0.5, u(5, 40))),
        "master.mount_stiffness": ("stiffness", maybe(rng, 0.5, 10 ** u(2.3, 3.6))),
    })
    lines(spec, rng)
    if concentric:
        spec.put("slave.outer", "length", u(52, 60))
        spec.put("slave.inner", "length", u(38, 43))
    else:
        spec.put("slave.bore", "length", u(18.5, 25))
    put_some(spec, {
        "slave.stroke": ("length", u(22, 40)),
        "slave.rest_extension": ("length", maybe(rng, 0.7, u(1, 16))),
        "slave.preload": ("force", maybe(rng, 0.5, u(10, 150))),
        "slave.efficiency": ("number", maybe(rng, 0.7, u(0.85, 0.99))),
        "fluid.bulk_modulus": ("pressure", maybe(rng, 0.6, u(600, 2400))),
        "fluid.air": ("volume", maybe(rng, 0.5, u(20, 3000))),
        "fluid.ambient": ("pressure", maybe(rng, 0.4, u(0.06, 0.105))),
    })
    if not concentric:
        fork(spec, rng)
    cover(spec, rng)


def fork(spec, rng, ratio=(1.2, 1.9)):
    u = rng.uniform
    wanted = u(*ratio)
    if rng.random() < 0.5:
        spec.put("fork.ratio", "number", wanted)
    else:
        arm = spec.put("fork.bearing_arm", "length", u(40, 80))
        spec.put("fork.slave_arm", "length", arm * wanted)
    put_some(spec, {
        "fork.efficiency": ("number", maybe(rng, 0.7, u(0.85, 0.99))),
        "fork.stiffness": ("stiffness", maybe(rng, 0.6, 10 ** u(2, 3.6))),
        "fork.window": ("length", maybe(rng, 0.3, u(12, 30))),
    })


def concentric(spec, rng):
    hydraulic(spec, rng, concentric=True)


def cable(spec, rng):
    u = rng.uniform
    pedal(spec, rng, ratio=(4, 6.5))
    put_some(spec, {
        "cable.bends": ("angle", u(0.3, 5)), "cable.friction": ("number", u(0.03, 0.2)),
        "cable.stiffness": ("stiffness", maybe(rng, 0.7, 10 ** u(1.9, 3))), "cable.play": ("length", maybe(rng, 0.6, u(0.2, 4))),
    })
    fork(spec, rng, (1.5, 2.4))
    cover(spec, rng, (500, 1500))


def linkage(spec, rng):
    u = rng.uniform
    pedal(spec, rng, ratio=(4, 6.5))
    arm = spec.put("linkage.in_arm", "length", u(50, 110))
    put_some(spec, {
        "linkage.out_arm": ("length", arm * u(0.7, 1.2)), "linkage.play": ("length", maybe(rng, 0.7, u(0.2, 3))),
        "linkage.stiffness": ("stiffness", maybe(rng, 0.7, 10 ** u(2, 3.5))), "linkage.efficiency": ("number", maybe(rng, 0.7, u(0.75, 0.98))),
    })
    fork(spec, rng, (1.5, 2.4))
    cover(spec, rng, (700, 1800))


ENDS = {"master_stroke", "intensifier_stroke", "slave_stroke", "fork_window", "bearing_guide"}
SEARCHED = {"pedal_effort", "pedal_effort_return", "pedal_effort_slack", "line_pressure", "cable_tension"}


def chains():
    """Group 1: every result of the chain, solved from the pad."""
    for kind, seed in ((hydraulic, 1), (concentric, 2), (cable, 3), (linkage, 4)):
        rng = random.Random(seed)
        specs = []
        for i in range(220):
            spec = Spec(f"{kind.__name__}_{i}", Speller(rng))
            kind(spec, rng)
            specs.append(spec)
        theirs = calc(specs)
        title = {"hydraulic": "outside slave"}.get(kind.__name__, kind.__name__)
        travels = Group(f"{title}: travels, pressure, effort, losses and margins at full pedal", "scipy.optimize.brentq, pint", 1e-6)
        peaks = Group(f"{title}: highest and least efforts, highest pressure or tension", "scipy.optimize.minimize_scalar", 1e-6)
        works = Group(f"{title}: work", "scipy.special.roots_legendre, every 20th by quad", 1e-6)
        loops = Group(f"{title}: work where the pad would retreat", "scipy.special.roots_legendre", 1e-6)
        after = Group(f"{title}: with the disc worn out", "scipy.optimize.brentq", 1e-6)
        ended = stopped = 0
        for i, spec in enumerate(specs):
            car, text = Car(spec.values, spec.lines), spec.text()
            system = theirs[spec.name]
            mine, cause = car.results(by_quad=i % 20 == 0)
            ended += cause == "master_stroke"
            stopped += cause not in ("master_stroke", None)
            theirs_too = system["ended_by"]
            if (theirs_too if theirs_too in ENDS else None) != cause:
                travels.fail(spec.name, f"ended by {system['ended_by']}", text)
            for name, here in mine.items():
                if name == "pedal_work":
                    group = loops if car.retreats() else works
                else:
                    group = peaks if name in SEARCHED else travels
                group.same(f"{spec.name} {name}", here, value(system, name), text=text)
            if "disc.wear" not in spec.values:
                continue
            worn = car.worn()
            if worn is None:
                after.same(f"{spec.name} has no room", None, value(system, "bearing_travel", "worn") if system.get("worn") else None, text=text)
                continue
            if not system.get("worn"):
                after.fail(spec.name, "worn is absent", text)
                continue
            # What is left to wear off is not known to this check.
            mine, _ = worn.results()
            del mine["wear_reserve"]
            for name, here in mine.items():
                after.same(f"{spec.name} worn {name}", here, value(system, name, "worn"), text=text)
        for group in (travels, peaks, works, loops, after):
            if group.count:
                group.report()
            else:
                Group.groups.remove(group)
        never = sum(value(system, "release_point") is None for system in theirs.values())
        print(f"      of {len(specs)}: {ended} ended by the master's stroke, {stopped} at a hard stop, {never} never free, {loops.count} where the pad would retreat")


def intensifiers():
    """A stepped piston in the line: every result of the chain, either side of it by itself."""
    rng = random.Random(73)
    u = rng.uniform
    whole = Group("intensifier: every result of the chain", "scipy.optimize.brentq, numpy", 1e-6)
    peaks = Group("intensifier: highest and least efforts, highest pressures, work", "scipy.optimize.minimize_scalar, scipy.special.roots_legendre", 1e-6)
    specs = []
    while len(specs) < 200:
        spec = Spec(f"stepped_{len(specs)}", Speller(rng))
        (concentric if len(specs) % 4 == 0 else hydraulic)(spec, rng)
        times = u(1.05, 1.9)
        large = spec.put("intensifier.in_bore", "length", u(19, 36))
        spec.put("intensifier.out_bore", "length", large / math.sqrt(times))
        put_some(spec, {
            "intensifier.stroke": ("length", u(12, 40)),
            "intensifier.port_travel": ("length", maybe(rng, 0.6, u(0.2, 1.5))),
            "intensifier.efficiency": ("number", maybe(rng, 0.7, u(0.85, 0.99))),
        })
        # A smaller slave, as goes with more pressure.
        if "slave.bore" in spec.values:
            spec.put("slave.bore", "length", u(18.5, 25) / math.sqrt(times))
        for text, line in zip(spec._line_texts, spec.lines):
            side = rng.choice(("master", "slave", None))
            if side:
                text["at"] = line["at"] = side
        for path in ("cover.finger_ratio", "disc.wear", "disc.outer", "disc.inner", "disc.friction"):
            spec.drop(path)
        # Where the bearing runs ahead, what pedal and master ask for is no place of the pad.
        if not Stepped(spec.values, spec.lines).retreats():
            specs.append(spec)
    theirs = calc(specs)
    stopped = 0
    for i, spec in enumerate(specs):
        car, system, text = Stepped(spec.values, spec.lines), theirs[spec.name], spec.text()
        mine, cause = car.results(by_quad=i % 20 == 0)
        stopped += cause == "intensifier_stroke"
        theirs_too = system["ended_by"]
        if (theirs_too if theirs_too in ENDS else None) != cause:
            whole.fail(spec.name, f"here {cause}, there {theirs_too}", text)
        for name, here in mine.items():
            group = peaks if name in SEARCHED | {"pedal_work", "master_pressure"} else whole
            group.same(f"{spec.name} {name}", here, value(system, name), text=text)
    whole.report()
    peaks.report()
    print(f"      of {len(specs)}: {stopped} ended by the intensifier")


def stacked(spec, rng):
    """A car with a bent fork, and what says where it stands."""
    u = rng.uniform
    rng.choice([hydraulic, cable, linkage])(spec, rng)
    spec.drop("fork.ratio")
    spec.drop("fork.window")
    arm = spec.put("fork.bearing_arm", "length", u(45, 80))
    spec.put("fork.slave_arm", "length", arm * u(1.3, 1.9))
    put_some(spec, {
        "bellhousing.depth": ("length", u(140, 190)), "bellhousing.adapter": ("length", maybe(rng, 0.5, u(4, 25))),
        "bearing.length": ("length", u(25, 45)), "cover.finger_height": ("length", u(60, 90)),
        "fork.tip_offset": ("length", maybe(rng, 0.8, u(-12, 12))), "fork.end_offset": ("length", maybe(rng, 0.8, u(-30, 30))),
    })
    if "slave.bore" in spec.values:
        put_some(spec, {"slave.mount_stiffness": ("stiffness", maybe(rng, 0.5, 10 ** u(2.5, 3.6)))})
    pull, outboard = rng.random() < 0.5, rng.random() < 0.5
    if pull or rng.random() < 0.5:
        spec.word("cover.action", "pull" if pull else "push")
    spec.word("fork.pivot", "outboard" if outboard else "between")
    v = spec.values
    fingers = v["bellhousing.depth"] + v.get("bellhousing.adapter", 0.0) - v["cover.finger_height"]
    tips = fingers + (1 if pull else -1) * v.get("bearing.free_play", 0.0) - v["bearing.length"]
    spec.put("fork.pivot_height", "length", tips + u(-12, 12))
    v.update({"fork.outboard": outboard, "cover.pulls": pull, "fork.tips": tips - v["fork.pivot_height"], "fork.at": tips})
    turn, _, end, *_ = Car(v, spec.lines).turned(0.0)
    at = v["fork.pivot_height"] + float((end * np.exp(1j * turn)).imag)
    edges = {"fork.window_rear": maybe(rng, 0.7, at - u(8, 30)), "fork.window_front": maybe(rng, 0.7, at + u(8, 30))}
    put_some(spec, {path: ("length", edge) for path, edge in edges.items()})


def fork_stack():
    """Bent forks on their pivots: the whole chain through the local ratio, and where the fork stands."""
    rng = random.Random(21)
    whole = Group("bent forks: every result of the chain", "scipy.optimize.brentq, numpy", 1e-6)
    places = Group("bent forks: angles, places, shim and room", "complex rotation by Newton, scipy.optimize.brentq", 1e-6)
    after = Group("bent forks: with the disc worn out", "scipy.optimize.brentq", 1e-6)
    specs = []
    for i in range(200):
        # Where the pad would retreat, a fork that runs ahead by itself is stopped by its window between two pad travels.
        specs.append(plain_system(f"stack_{i}", rng, stacked, assisted=True))
    theirs = calc(specs)
    for i, spec in enumerate(specs):
        v, system, text = spec.values, theirs[spec.name], spec.text()
        forward = v["fork.outboard"] != v["cover.pulls"]
        way = 1 if forward else -1
        edge = {True: v.get("fork.window_front"), False: v.get("fork.window_rear")}
        car = Car(v, spec.lines)
        height, release = v["fork.pivot_height"], -1 if v["cover.pulls"] else 1

        def stands(bearing):
            turn, tip, end, *_ = car.turned(bearing)
            return math.degrees(turn), height + float((end * np.exp(1j * turn)).imag)

        if edge[forward] is not None:
            v["fork.window"] = max(way * (edge[forward] - stands(0.0)[1]), 0.0)
            car = Car(v, spec.lines)
        back = v["disc.wear"] * v["cover.finger_ratio"] if "disc.wear" in v and "cover.finger_ratio" in v else 0.0
        pushed = max(0.0, back - car.free_play)
        mine, _ = car.results(by_quad=i % 20 == 0)
        for name, here in mine.items():
            whole.same(f"{spec.name} {name}", here, value(system, name), text=text)
        bearing, (angle, end), worn_at = mine["bearing_travel"], stands(0.0), stands(-pushed)
        full, tips = stands(bearing)[0], v["fork.at"]
        # Square where the tips are a tip offset ahead of the ball: by a root over the height of the ball.
        middle = 0.5 * (tips - release * pushed + tips + release * bearing)
        shim = brentq(lambda h: middle - (height + h) - v.get("fork.tip_offset", 0.0), -200, 200, xtol=1e-12)
        other = edge[not forward]
        for name, here in dict(
            fork_tip_position=tips, fork_angle=angle, fork_angle_full=full, fork_lean=max(abs(angle), abs(full), abs(worn_at[0])),
            pivot_shim=shim, fork_end_position=end, fork_end_position_full=end + way * mine["fork_travel"],
            fork_back_room=None if other is None else way * (worn_at[1] - other),
        ).items():
            places.same(f"{spec.name} {name}", here, value(system, name), text=text)
        worn = car.worn() if back > 0 else None
        if worn is None or not system.get("worn"):
            after.same(f"{spec.name} has worn results", None, 1.0 if system.get("worn") and back > 0 else None, text=text)
            continue
        mine, _ = worn.results()
        mine.pop("wear_reserve", None)
        mine |= dict(fork_angle=worn_at[0], fork_end_position=worn_at[1])
        for name, here in mine.items():
            after.same(f"{spec.name} worn {name}", here, value(system, name, "worn"), text=text)
    for group in (whole, places, after):
        group.report()


def levers():
    """Group 1a: relay levers at the pedal and at the fork, and a cross-shaft off square."""
    for kind, seed in ((hydraulic, 41), (cable, 42), (linkage, 43)):
        rng = random.Random(seed)
        u = rng.uniform
        specs = []
        for i in range(220):
            spec = Spec(f"levers_{kind.__name__}_{i}", Speller(rng))
            spec.assisted = False
            kind(spec, rng)
            if kind is linkage and rng.random() < 0.7:
                spec.put("linkage.in_angle", "angle", u(-0.3, 0.5))
                spec.put("linkage.out_angle", "angle", u(-0.3, 0.5))
            if kind is hydraulic and rng.random() < 0.25:
                spec.put("slave.pull_rod", "length", u(6, 10))
            for at in sorted((rng.choice(("pedal", "fork")) for _ in range(rng.randint(1, 3))), reverse=True):
                if rng.random() < 0.2:
                    fields = {"bends": ("angle", u(0.3, 4)), "friction": ("number", u(0.03, 0.12))}
                    fields |= {name: value for name, value in {"play": ("length", u(0.1, 1.5)), "stiffness": ("stiffness", 10 ** u(2.5, 3.7))}.items() if rng.random() < 0.7}
                    spec.relay(at, **fields)
                    continue
                arm = u(45, 110)
                fields = {"in_arm": ("length", arm), "out_arm": ("length", arm * u(0.85, 1.15))}
                fields |= {name: value for name, value in {
                    "in_angle": ("angle", u(-0.3, 0.5)), "out_angle": ("angle", u(-0.3, 0.5)), "play": ("length", u(0.1, 1.5)),
                    "stiffness": ("stiffness", 10 ** u(2.5, 3.7)), "efficiency": ("number", u(0.85, 0.99)),
                }.items() if rng.random() < 0.7}
                spec.relay(at, **fields)
            specs.append(spec)
        theirs = calc(specs)
        title = f"relay levers with a {'slave' if kind is hydraulic else kind.__name__}"
        travels = Group(f"{title}: travels, margins, losses and effort at full pedal", "scipy.optimize.brentq, pint", 1e-6)
        peaks = Group(f"{title}: highest effort and pressure", "scipy.optimize.minimize_scalar", 1e-6)
        works = Group(f"{title}: work", "numpy.trapezoid, Richardson", 1e-6)
        ended = 0
        for spec in specs:
            levers = list(spec.relays)
            values = dict(spec.values)
            car = Levered(values, spec.lines, levers)
            if "linkage.in_angle" in values:
                shaft = {"at": "pedal", "in_arm": values["linkage.in_arm"], "out_arm": values["linkage.out_arm"], "in_angle": values["linkage.in_angle"], "out_angle": values["linkage.out_angle"], "efficiency": values.get("linkage.efficiency", 0.9), "play": values.get("linkage.play", 0.0)}
                if "linkage.stiffness" in values:
                    shaft["stiffness"] = values["linkage.stiffness"]
                # A cross-shaft is a lever behind those at the pedal, and what is left is a rod.
                rod = {path: value for path, value in values.items() if not path.startswith("linkage.")}
                rod |= {"linkage.in_arm": 1.0, "linkage.out_arm": 1.0, "linkage.efficiency": 1.0}
                before = [one for one in levers if one["at"] == "pedal"]
                car = Levered(rod, spec.lines, [*before, shaft, *(one for one in levers if one["at"] == "fork")])
            mine = car.results()
            if mine is None:
                ended += 1
                continue
            system = theirs[spec.name]
            for name, here in mine.items():
                group = works if name == "pedal_work" else peaks if name in SEARCHED else travels
                group.same(f"{spec.name} {name}", here, value(system, name), text=spec.text())
        for group in (travels, peaks, works):
            group.report()
        print(f"      of {len(specs)}: {ended} ended by something else than the pedal, or without touching the fingers")


def drags():
    """Friction that does not go with the load, and springs that pull the fork back."""
    for kind, seed in ((hydraulic, 51), (concentric, 52), (cable, 53), (linkage, 54)):
        rng = random.Random(seed)
        u = rng.uniform
        specs = []
        for i in range(200):
            spec = Spec(f"drags_{kind.__name__}_{i}", Speller(rng))
            spec.assisted = False
            kind(spec, rng)
            fields = {"pedal.drag": ("force", maybe(rng, 0.7, u(0.5, 8)))}
            if kind in (hydraulic, concentric):
                fields |= {"master.drag": ("force", maybe(rng, 0.7, u(2, 30))), "slave.drag": ("force", maybe(rng, 0.7, u(5, 60)))}
            if kind is not concentric:
                fields |= {"fork.drag": ("force", maybe(rng, 0.7, u(2, 30))), "fork.return_force": ("force", maybe(rng, 0.7, u(5, 100)))}
            put_some(spec, fields)
            specs.append(spec)
        theirs = calc(specs)
        title = f"drag and springs with a {'slave' if kind is hydraulic else kind.__name__}"
        travels = Group(f"{title}: travels, margins, losses and effort at full pedal", "scipy.optimize.brentq, pint", 1e-6)
        peaks = Group(f"{title}: highest and least efforts, highest pressure", "scipy.optimize.minimize_scalar", 1e-6)
        works = Group(f"{title}: work", "numpy.trapezoid, Richardson", 1e-6)
        ended = 0
        for spec in specs:
            mine = Dragging(spec.values, spec.lines).results()
            if mine is None:
                ended += 1
                continue
            for name, here in mine.items():
                group = works if name == "pedal_work" else peaks if name in SEARCHED else travels
                group.same(f"{spec.name} {name}", here, value(theirs[spec.name], name), text=spec.text())
        for group in (travels, peaks, works):
            group.report()
        print(f"      of {len(specs)}: {ended} ended by something else than the pedal, or without touching the fingers")


def riding(v, back=0.0):
    """Load with which a preload holds the bearing on fingers that wear has brought back by so much, N."""
    if v.get("bearing.free_play", 0.0) - back > 0:
        return 0.0
    arms = v["fork.slave_arm"] / v["fork.bearing_arm"] if "fork.slave_arm" in v else 1.0
    return v.get("slave.preload", 0.0) * v.get("fork.ratio", arms)


def heat():
    """Fluid that grows behind a shut port, hoses that soften, facings that fade, a liner that wears."""
    rng = random.Random(22)
    shut = Group("heat: growth behind a shut port", "scipy.optimize.brentq over the pressure", 1e-6)
    others = Group("heat: soft hoses, hot facings, worn liners", "the chain solved again", 1e-6)
    specs = []
    for i in range(200):
        spec = plain_system(f"hot_{i}", rng, rng.choice([hydraulic, concentric, cable]))
        u = rng.uniform
        put_some(spec, {
            "cover.clamp_load": ("force", u(3000, 9000)), "cover.finger_ratio": ("number", u(2.8, 4.2)), "disc.outer": ("length", u(200, 300)),
            "disc.inner": ("length", u(110, 175)), "disc.friction": ("number", u(0.25, 0.45)), "disc.friction_hot": ("number", u(0.15, 0.3)),
        })
        if "master.bore" in spec.values:
            hottest, filled, growth, heat = round(u(60, 150)), round(u(-10, 30)), round(u(4e-4, 2e-3), 6), round(u(1e-3, 1e-2), 5)
            spec.word("fluid.hottest", f"{hottest} degC")
            spec.word("fluid.filled_at", f"{filled} degC")
            spec.word("fluid.growth", f"{growth} K^-1")
            spec.values |= {"hot.share": growth * (hottest - filled), "hot.hose": 1 + heat * (hottest - 23)}
            hoses = [i for i, line in enumerate(spec.lines) if "expansion" in line]
            for line in hoses:
                spec._line_texts[line]["heat"] = f"{heat} K^-1"
            spec.values["hot.hoses"] = bool(hoses)
            if any(path.startswith("fork.") for path in spec.values) and rng.random() < 0.4:
                arm = u(45, 110)
                spec.relay("fork", in_arm=("length", arm), out_arm=("length", arm * u(0.85, 1.15)), in_angle=("angle", u(-0.3, 0.5)),
                           out_angle=("angle", u(-0.3, 0.5)), play=("length", u(0.1, 1.5)), efficiency=("number", u(0.85, 0.99)))
        else:
            spec.put("cable.friction_worn", "number", u(0.1, 0.3))
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        v, system, text = spec.values, theirs[spec.name], spec.text()
        car = Car(v, spec.lines)
        radius = (v["disc.outer"] + v["disc.inner"]) / 4
        per_clamp = radius * v.get("disc.faces", 2.0) / 1000
        clamp = v["cover.clamp_load"] - v["cover.finger_ratio"] * riding(v)
        here = dict(torque_capacity_hot=v["disc.friction_hot"] * clamp * per_clamp)
        if not car.hydraulic:
            here["pedal_effort_worn_liner"] = car.changed(cable__friction=v["cable.friction_worn"]).results()[0]["pedal_effort"]
        elif v["hot.hoses"]:
            soft = [{**line, "expansion": line["expansion"] * v["hot.hose"]} if "expansion" in line else line for line in spec.lines]
            here["release_margin_hot"] = Car(v, soft).fingers() - car.needed
        for name, value_here in here.items() if not spec.relays else ():
            others.same(f"{spec.name} {name}", value_here, value(system, name), text=text)
        if not car.hydraulic:
            continue
        # Without friction, from the pressure: the force that it makes at the slave says where on the load the bearing is.
        smooth = car.changed(fork__efficiency=1.0, slave__efficiency=1.0)
        if spec.relays:
            smooth = Levered({**v, "fork.efficiency": 1.0, "slave.efficiency": 1.0}, spec.lines, [{**one, "efficiency": 1.0} for one in spec.relays])
        volume = smooth.a_m * (smooth.stroke - smooth.dead) + smooth.a_s * smooth.extension
        volume += sum(math.pi / 4 * line["bore"] ** 2 * line["length"] for line in spec.lines)
        grown = volume * v["hot.share"]

        def taken(place):
            _, force, travel, p, _ = smooth.forces(place)
            return float(smooth.a_s * travel + sum(smooth.lost(p)))

        places = np.unique(np.concatenate([smooth.corners(), np.linspace(0, smooth.corners()[-1] + 60, 4000)]))
        first = next(i for i, place in enumerate(places) if taken(place) >= grown)
        place = brentq(lambda u: taken(u) - grown, places[first - 1], places[first], xtol=1e-13)
        bearing, load = (float(x) for x in smooth.place(place))
        lost = v["cover.finger_ratio"] * load
        left = max(0.0, v["cover.clamp_load"] - lost)
        for name, value_here in dict(
            shut_port_volume=grown / 1000, shut_port_travel=bearing, shut_port_load=load, shut_port_clamp_lost=lost,
            shut_port_capacity=v["disc.friction"] * left * per_clamp,
        ).items():
            shut.same(f"{spec.name} {name}", value_here, value(system, name), text=text)
    shut.report()
    others.report()


def take_up():
    """Where the clutch bites, from the torque back to the pad."""
    rng = random.Random(23)
    group = Group("bite and take-up on the way up", "scipy.optimize.brentq over the fingers' travel", 1e-6)
    specs = []
    for i in range(200):
        spec = plain_system(f"bite_{i}", rng, rng.choice([hydraulic, concentric, cable, linkage]))
        u = rng.uniform
        put_some(spec, {
            "cover.clamp_load": ("force", u(3000, 9000)), "cover.finger_ratio": ("number", u(2.8, 4.2)), "disc.outer": ("length", u(200, 300)),
            "disc.inner": ("length", u(110, 175)), "disc.friction": ("number", u(0.25, 0.45)), "disc.cushion": ("length", u(0.3, 1.2)),
            "disc.cushion_power": ("number", u(0.7, 3)), "engine.torque": ("torque", u(1e5, 3e5)),
            "cover.finger_stiffness": ("stiffness", maybe(rng, 0.5, u(2000, 20000))),
        })
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        v, system, text = spec.values, theirs[spec.name], spec.text()
        car = Car(v, spec.lines)
        most = car.fingers()
        per_force = v["disc.friction"] * (v["disc.outer"] + v["disc.inner"]) / 4 * v.get("disc.faces", 2.0)
        give = 1 / v.get("cover.finger_stiffness", math.inf)

        def torque(fingers):
            pressed = v["disc.cushion"] - (fingers - float(car.load(fingers)) * give) / v["cover.finger_ratio"]
            share = min(max(pressed / v["disc.cushion"], 0.0), 2.0)
            return per_force * v["cover.clamp_load"] * share ** v["disc.cushion_power"]

        def pad(wanted):
            if wanted > per_force * v["cover.clamp_load"] or torque(most) > wanted:
                return None
            along = np.linspace(0, most, 3000)
            first = next(i for i, f in enumerate(along) if torque(f) <= wanted)
            fingers = 0.0 if first == 0 else brentq(lambda f: torque(f) - wanted, along[first - 1], along[first], xtol=1e-14)
            place = car.place_of_fingers(fingers) if fingers > 0 else car.free_play
            return car.pad_of(float(car.rod_at(place, RETURN)))

        bite, end = pad(10e3), pad(v["engine.torque"])
        for name, here in dict(bite_point=bite, take_up_end=end, take_up=bite - end if bite is not None and end is not None else None).items():
            group.same(f"{spec.name} {name}", here, value(system, name), text=text)
    group.report()


# --- tolerances ---


DRAWS = 10_000
# How far a result found on a walk of finite steps may lie outside, of its size.
COARSE = {"pedal_effort": 1e-6, "pedal_effort_return": 1e-6, "pedal_work": 1e-5}


def draws():
    """Group 2a: every draw of the toleranced values lies in the band of every result."""
    rng, numbers = random.Random(5), np.random.default_rng(5)
    specs = []
    for i in range(14):
        kind = (hydraulic, concentric, hydraulic, cable, linkage)[i % 5]
        while True:
            spec = Spec(f"loose_{i}", Speller(rng))
            spec.assisted = False
            kind(spec, rng)
            car = Car(spec.values, spec.lines)
            if not car.retreats() and car.fingers() > 3:
                break
        loose = [path for path in spec.dimensions if path not in ("cover.finger_ratio", "disc.outer", "disc.inner", "disc.friction", "pedal.arm_angle")]
        for path in rng.sample(loose, min(len(loose), rng.randint(4, 8))):
            tight = path.endswith("efficiency")
            spec.loosen(path, rng.uniform(0.002, 0.01 if tight else 0.03))
        if spec.lines and rng.random() < 0.6:
            spec.loosen_line(0, "length", "length", rng.uniform(0.01, 0.1))
        specs.append(spec)
    theirs = calc(specs)
    inside_band = Group("worst case: draws inside low..high", f"scipy.optimize.elementwise.find_root, {DRAWS} draws each", 1e-8)
    reach = []
    for spec in specs:
        values, rows = dict(spec.values), [dict(row) for row in spec.lines]
        for path, (low, high) in spec.bands.items():
            drawn = numbers.uniform(low, high, DRAWS)
            # Some at the very ends, where the worst is.
            ends = numbers.random(DRAWS) < 0.3
            drawn = np.where(ends, np.where(numbers.random(DRAWS) < 0.5, low, high), drawn)
            if isinstance(path, tuple):
                rows[path[0]][path[1]] = drawn
            else:
                values[path] = drawn
        mine = Car(values, rows).many(DRAWS)
        for name, here in mine.items():
            there = theirs[spec.name]["results"].get(name, {}).get("tolerance")
            if there is None:
                continue
            low, high = there["low"], there["high"]
            inside_band.count += DRAWS
            here = np.atleast_1d(here)
            if np.any(~np.isfinite(here)):
                inside_band.fail(f"{spec.name} {name}", "there is a band, and draws without the result", spec.text())
                continue
            scale = max(abs(low), abs(high), 1e-3)
            out = float(max(low - here.min(), here.max() - high, 0.0)) / scale
            if out > inside_band.worst:
                inside_band.worst, inside_band.where = out, f"{spec.name} {name}"
            if out > COARSE.get(name, inside_band.tolerance):
                inside_band.fail(f"{spec.name} {name}", f"draws {here.min():.9g}..{here.max():.9g}, band {low:.9g}..{high:.9g}", spec.text())
            if high - low > 1e-9 * scale:
                reach.append((here.max() - here.min()) / (high - low))
    inside_band.report()
    print(f"     the draws cover {min(reach):.0%} to {max(reach):.0%} of the bands, {np.median(reach):.0%} in the middle; walks of finite steps for {', '.join(COARSE)} are let out by up to {max(COARSE.values()):.0e}")


def squares():
    """Group 2b: root-sum-square and shares of linear results, and of others for small tolerances."""
    rng = random.Random(6)
    specs, sums = [], {}
    for i in range(20):
        spec = Spec(f"sum_{i}", Speller(rng))
        spec.assisted = False
        u = rng.uniform
        hydraulic(spec, rng)
        for path, dimension, value in (
            ("slave.mount_to_fork", "length", u(90, 150)), ("slave.face_to_seat", "length", u(10, 40)), ("slave.rest_extension", "length", u(4, 15)),
            ("bearing.free_play", "length", u(0.5, 3)), ("disc.wear", "length", u(0.5, 2)), ("cover.clamp_load", "force", u(3000, 9000)),
            ("engine.torque", "torque", u(1e5, 4e5)), ("bellhousing.depth", "length", u(150, 180)), ("bellhousing.adapter", "length", u(5, 20)),
            ("gearbox.input_length", "length", u(190, 220)), ("gearbox.pilot_reach", "length", u(2, 12)), ("bellhousing.runout", "length", u(0.05, 0.4)),
        ):
            spec.tolerance(path, dimension, value, value * u(0.002, 0.1))
        for path, dimension, value in (
            ("cover.finger_ratio", "number", u(2.8, 4)), ("disc.outer", "length", u(200, 260)), ("disc.inner", "length", u(130, 170)),
            ("disc.friction", "number", u(0.2, 0.4)), ("engine.service_factor", "number", u(1.1, 1.6)), ("fork.ratio", "number", u(1.2, 2)),
        ):
            spec.put(path, dimension, value)
        # A hub and splines so long that the front end of the splines and the rear end of the hub decide, whatever the tolerances.
        middle = {path: 0.5 * (low + high) for path, (low, high) in spec.bands.items()}
        tip = middle["bellhousing.depth"] + middle["bellhousing.adapter"] - middle["gearbox.input_length"]
        for path, value in (
            ("flywheel.face", u(20, 40)), ("disc.thickness", u(7, 9)), ("disc.hub_offset", u(-5, 5)), ("disc.hub_length", 300), ("gearbox.spline_length", 300),
        ):
            spec.put(path, "length", value)
        spec.put("gearbox.spline_start", "length", u(30, 60) - tip)
        for path in ("fork.slave_arm", "fork.bearing_arm"):
            spec.drop(path)
        spec.word("disc.faces", "2")
        specs.append(spec)
        v = {**spec.values, **{path: uncertainties.ufloat(0.5 * (low + high), 0.5 * (high - low), path) for path, (low, high) in spec.bands.items()}}
        capacity = v["disc.friction"] * v["cover.clamp_load"] * (v["disc.outer"] + v["disc.inner"]) / 4 * 2 / 1000
        sums[spec.name] = dict(
            rod_cut_length=v["slave.mount_to_fork"] + v["slave.face_to_seat"] - v["slave.rest_extension"],
            wear_reserve=v["bearing.free_play"] + v["slave.rest_extension"] / v["fork.ratio"] - v["disc.wear"] * v["cover.finger_ratio"],
            clamp_load=v["cover.clamp_load"], torque_capacity=capacity, torque_margin=capacity - v["engine.torque"] * v["engine.service_factor"] / 1000,
            pilot_engagement=v["gearbox.input_length"] - v["bellhousing.depth"] - v["bellhousing.adapter"] - v["gearbox.pilot_reach"],
            bell_offset=v["bellhousing.runout"] / 2,
            spline_engagement=v["flywheel.face"] + v["disc.thickness"] / 2 + v["disc.hub_offset"] + v["disc.hub_length"] / 2
            - (v["bellhousing.depth"] + v["bellhousing.adapter"] - v["gearbox.input_length"] + v["gearbox.spline_start"]),
        )
    linear = Group("root-sum-square and shares of linear results", "uncertainties", 1e-9)
    theirs = calc(specs)
    for spec in specs:
        for name, here in sums[spec.name].items():
            result = theirs[spec.name]["results"][name]
            there, where = result["tolerance"], f"{spec.name} {name}"
            linear.same(where, here.nominal_value, result["value"], text=spec.text())
            linear.same(f"{where} rss", here.std_dev, there["rss"], 1e-6, spec.text())
            parts = {variable.tag: abs(part) for variable, part in here.error_components().items()}
            for path in spec.bands:
                if isinstance(path, str):
                    linear.same(f"{where} share of {path}", parts.get(path, 0.0) / sum(parts.values()), there["shares"][path], text=spec.text())
            linear.same(f"{where} low", here.nominal_value - sum(parts.values()), there["low"], text=spec.text())
            linear.same(f"{where} high", here.nominal_value + sum(parts.values()), there["high"], text=spec.text())
    linear.report()

    bent = Group("root-sum-square of solved results, small tolerances", "uncertainties.wrap of the solution by brentq", 5e-3)
    specs = []
    for i in range(8):
        while True:
            spec = Spec(f"bent_{i}", Speller(rng))
            spec.assisted = False
            hydraulic(spec, rng)
            car = Car(spec.values, spec.lines)
            if not car.retreats() and car.ended()[1] is None and car.fingers() > 3:
                break
        paths = [p for p in ("pedal.travel", "master.bore", "slave.bore", "fork.ratio", "fluid.air", "pedal.efficiency") if p in spec.dimensions]
        if "pedal.stop" in spec.values:
            paths.remove("pedal.travel")
        for path in paths:
            spec.loosen(path, 2e-4)
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        paths = list(spec.bands)
        given = [uncertainties.ufloat(0.5 * sum(spec.bands[p]), 0.5 * (spec.bands[p][1] - spec.bands[p][0])) for p in paths]
        for name in ("finger_travel", "slave_travel", "pedal_effort_full", "master_reserve", "lost_hose"):
            def solved(*values, name=name, spec=spec, paths=paths):
                car = Car({**spec.values, **dict(zip(paths, values))}, spec.lines)
                s = car.state(car.full_pedal()[0])
                return {
                    "finger_travel": max(0.0, s["bearing"] - car.free_play), "slave_travel": s["travel"], "pedal_effort_full": s["effort"],
                    "master_reserve": car.stroke - s["piston"], "lost_hose": s["lost"][0] / car.a_s,
                }[name]
            here = uncertainties.wrap(solved)(*given)
            result = theirs[spec.name]["results"][name]
            bent.same(f"{spec.name} {name}", here.std_dev, result["tolerance"]["rss"], 1e-5, spec.text())
    bent.report()


# --- single formulas, each by a library or by integration ---


def plain_system(name, rng, kind=hydraulic, assisted=False, good=lambda spec, car: True):
    """A random system that is good for something."""
    while True:
        spec = Spec(name, Speller(rng))
        spec.assisted = assisted
        kind(spec, rng)
        car = Car(spec.values, spec.lines)
        if not car.retreats() and car.fingers() > 4 and good(spec, car):
            return spec


def cold_return():
    """Hagen–Poiseuille by fluids, along the way back."""
    rng = random.Random(7)
    constant = Group("return in the cold, constant load", "fluids.one_phase_dP", 1e-6)
    general = Group("return in the cold, load by a curve", "fluids.one_phase_dP, scipy.integrate.quad", 1e-6)
    specs = []
    for i in range(60):
        spec = Spec(f"cold_{i}", Speller(rng))
        spec.assisted = False
        (concentric if i % 3 == 0 else hydraulic)(spec, rng)
        if i < 30:
            load = rng.uniform(1200, 2200)
            text, load = spec.speller.plain("force", load)
            spec.word("cover.release_load", f"curve {{ 0 mm: {text}, 15 mm: {text} }}")
            spec.values["cover.release_load"] = [(0, load), (15, load)]
        spec.put("fluid.viscosity", "viscosity", rng.uniform(100, 1800))
        spec.put("fluid.density", "density", rng.uniform(0.85e-9, 1.1e-9))
        specs.append(spec)
    theirs = calc(specs)
    by_flow = 0
    for i, spec in enumerate(specs):
        car, group = Car(spec.values, spec.lines), constant if i < 30 else general
        nu, rho = spec.values["fluid.viscosity"] * 1e-6, spec.values["fluid.density"] * 1e12
        # Pa per m^3/s, at a flow slow enough to be laminar whatever else.
        slow = 1e-9
        resistance = sum(
            fluids.one_phase_dP(m=slow * rho, rho=rho, mu=nu * rho, D=line["bore"] / 1000, roughness=0.0, L=line["length"] / 1000) / slow
            for line in spec.lines
        )
        resistance *= 1e-6 / 1e9  # MPa per mm^3/s
        fingers = car.fingers()

        def back(x, car=car):
            """Slave's travel and the pressure with the fingers at x, on the way back."""
            _, _, travel, p, _ = car.forces(car.place_of_fingers(x), RETURN)
            return float(travel), float(p)

        if fingers <= 0 or min(back(x)[1] for x in np.linspace(0.1 * fingers, fingers, 400)) <= 0:
            group.same(spec.name, None, value(theirs[spec.name], "return_time"), text=spec.text())
            continue
        bends = [0.1 * fingers, fingers]
        bends += [x for x in car.bends if bends[0] < x < fingers]
        time_back = 0.0
        for a, b in zip(sorted(bends), sorted(bends)[1:]):
            # Along a straight piece of the load the slave's travel goes evenly with the fingers'.
            per = (back(b)[0] - back(a)[0]) / (b - a) * car.a_s
            time_back += quad(lambda x: per / (back(x)[1] / resistance), a, b, epsrel=1e-11)[0]
        if i < 30:
            # Without any integral: the one flow that takes the pressure, as a root.
            p = back(fingers)[1]
            def short(flow):
                drops = (fluids.one_phase_dP(m=flow * rho, rho=rho, mu=nu * rho, D=line["bore"] / 1000, roughness=0.0, L=line["length"] / 1000) for line in spec.lines)
                return sum(drops) - p * 1e6

            narrow = min(line["bore"] for line in spec.lines) / 1000
            laminar = 2000 * nu * narrow * math.pi / 4
            if short(laminar) > 0:
                flow = brentq(short, 1e-12, laminar, xtol=1e-20, rtol=1e-13)
                time_back = car.a_s * car.fork * 0.9 * fingers / (flow * 1e9)
                by_flow += 1
        group.same(spec.name, time_back, value(theirs[spec.name], "return_time"), 1e-6, spec.text())
    constant.report()
    print(f"      {by_flow} of them by the root of the flow in fluids itself; in the others it would be turbulent")
    general.report()


class Beside(Car):
    """A car whose master stands beside the pedal's rod, with an over-center spring hooked in at the pedal."""

    def changed(self, **values):
        return Beside(super().changed(**values).values, self.lines)

    def rod_of(self, pad):
        get = self.values.get
        length = get("pedal.rod_length")
        if not self.crank or length is None:
            return super().rod_of(pad)
        # The eye as a point from the pivot: along the bore, and across it.
        eye = self.rod_arm * np.array([np.sin(self.rest + pad / get("pedal.pad_arm")), np.cos(self.rest + pad / get("pedal.pad_arm"))])
        line = self.rod_arm * np.cos(self.rest) + get("pedal.rod_offset", 0.0)
        seat = eye[0] + np.sqrt(length**2 - (eye[1] - line) ** 2)
        return seat - (self.rod_arm * np.sin(self.rest) + np.sqrt(length**2 - get("pedal.rod_offset", 0.0) ** 2))

    def assist_at(self, pad):
        """By the torque of the spring's pull about the pivot, with its ends as points."""
        get = self.values.get
        if get("pedal.assist_rate") is None:
            return super().assist_at(pad)
        turned = get("pedal.assist_angle") - np.asarray(pad) / get("pedal.pad_arm")
        anchor = get("pedal.assist_anchor") + 0j
        hook = -get("pedal.assist_hook") * np.exp(1j * turned)
        along = anchor - hook
        pull = get("pedal.assist_rate") * np.maximum(0.0, np.abs(along) - get("pedal.assist_free_length"))
        torque = (np.conj(hook) * along / np.abs(along)).imag * pull
        return -torque / get("pedal.pad_arm")


def small():
    """A master beside the pedal's rod, over-center springs, switches on the pedal."""
    rng = random.Random(71)
    u = rng.uniform
    travels = Group("pedal's rod beside the bore, switches: travels and lean", "scipy.optimize.brentq, numpy", 1e-6)
    springs = Group("over-center spring by its hooks: efforts", "numpy, scipy.optimize.minimize_scalar", 1e-6)
    specs = []
    while len(specs) < 200:
        spec = Spec(f"small_{len(specs)}", Speller(rng))
        spec.assisted = False
        (hydraulic, cable, linkage)[len(specs) % 3](spec, rng)
        if "pedal.rod_arm" not in spec.values:
            continue
        spec.put("pedal.rod_length", "length", spec.values["pedal.rod_arm"] * u(1.8, 4))
        spec.put("pedal.rod_offset", "length", u(-8, 8))
        spec.put("pedal.start_switch", "length", u(60, 150))
        spec.put("pedal.cruise_switch", "length", u(2, 40))
        if rng.random() < 0.6:
            anchor, hook = spec.put("pedal.assist_anchor", "length", u(50, 120)), spec.put("pedal.assist_hook", "length", u(20, 48))
            spec.put("pedal.assist_rate", "stiffness", u(5, 25))
            spec.put("pedal.assist_free_length", "length", (anchor + hook) * u(0.6, 0.95))
            spec.put("pedal.assist_angle", "angle", u(-0.1, 0.3))
        car = Beside(spec.values, spec.lines)
        try:
            if car.retreats() or car.fingers() <= 4:
                continue
        except ValueError:
            continue
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        car, system = Beside(spec.values, spec.lines), theirs[spec.name]
        mine, _ = car.results()
        v = spec.values
        full, free = mine["pedal_travel_used"], mine["release_point"]
        turns = car.rest + np.linspace(0, full, 20001) / v["pedal.pad_arm"]
        turns = np.append(turns, 0.0) if turns[0] < 0 < turns[-1] else turns
        across = car.rod_arm * (np.cos(turns) - np.cos(car.rest)) - v["pedal.rod_offset"]
        mine["pedal_rod_angle"] = math.degrees(np.max(np.abs(np.arcsin(across / v["pedal.rod_length"]))))
        mine["start_switch_room"] = full - v["pedal.start_switch"]
        if free is not None:
            mine["start_switch_lead"] = v["pedal.start_switch"] - free
        for name in ("pedal_travel_used", "bearing_travel", "release_margin", "release_point", "pedal_rod_angle", "start_switch_room", "start_switch_lead"):
            travels.same(f"{spec.name} {name}", mine.get(name), value(system, name), text=spec.text())
        lag = value(system, "cruise_switch_lag")
        travels.same(f"{spec.name} cruise_switch_lag", v["pedal.cruise_switch"] - value(system, "free_travel"), lag, text=spec.text())
        for name in ("pedal_effort", "pedal_effort_full", "pedal_effort_return", "pedal_effort_slack", "pedal_work"):
            springs.same(f"{spec.name} {name}", mine[name], value(system, name), 10.0, spec.text())
    travels.report()
    springs.report()


def orifices():
    """Orifices and dead ends on the way back: the flow that takes the pressure, as a root."""
    rng = random.Random(72)
    u = rng.uniform
    group = Group("return through orifices, and past dead ends", "scipy.integrate.quad, scipy.optimize.brentq", 1e-6)
    masters = Group("bubble left in a master", "scipy.integrate.quad over the bore's height", 1e-6)
    specs, kinds = [], []
    for i in range(200):
        spec = Spec(f"orifice_{i}", Speller(rng))
        spec.assisted = False
        (concentric if i % 3 == 0 else hydraulic)(spec, rng)
        kind = []
        for text, line in zip(spec._line_texts, spec.lines):
            kind.append(rng.choice(("through", "orifice", "orifice", "dead")))
            if kind[-1] == "orifice":
                text["orifice"], line["orifice"] = spec.speller.value("length", u(0.5, 2.5))
            if kind[-1] == "dead":
                text["dead_end"] = "yes"
        spec.put("fluid.viscosity", "viscosity", u(10, 900))
        spec.put("fluid.density", "density", u(0.85e-9, 1.1e-9))
        spec.put("master.slope", "angle", math.radians(u(-5, 40)))
        spec.put("master.chamber", "length", u(2, 40))
        specs.append(spec)
        kinds.append(kind)
    theirs = calc(specs)
    for spec, kind in zip(specs, kinds):
        car = Car(spec.values, spec.lines)
        nu, rho = spec.values["fluid.viscosity"], spec.values["fluid.density"]
        flowing = [line for line, one in zip(spec.lines, kind) if one != "dead"]
        fingers = car.fingers()
        system = theirs[spec.name]

        def back(x, car=car):
            _, _, travel, p, _ = car.forces(car.place_of_fingers(x), RETURN)
            return float(travel), float(p)

        def drop(flow, thick, flowing=flowing):
            pipes = sum(128 * thick * rho * line["length"] * flow / (math.pi * line["bore"] ** 4) for line in flowing)
            holes = sum(0.5 * rho * (flow / (0.65 * math.pi / 4 * line["orifice"] ** 2)) ** 2 for line in flowing if "orifice" in line)
            return pipes + holes

        def time_back(thick):
            if drop(1.0, thick) == 0:
                return 0.0
            bends = sorted({0.1 * fingers, fingers, *(x for x in car.bends if 0.1 * fingers < x < fingers)})
            total = 0.0
            for a, b in zip(bends, bends[1:]):
                per = (back(b)[0] - back(a)[0]) / (b - a) * car.a_s

                def slowness(x):
                    p, high = back(x)[1], 1.0
                    while drop(high, thick) < p:
                        high *= 4
                    return 1 / brentq(lambda q: drop(q, thick) - p, 0.0, high, xtol=1e-300, rtol=1e-13)

                total += quad(lambda x: per * slowness(x), a, b, epsrel=1e-11, limit=200)[0]
            return total

        if car.retreats():
            continue
        if fingers <= 0 or min(back(x)[1] for x in np.linspace(0.1 * fingers, fingers, 400)) <= 0:
            group.same(spec.name, None, value(system, "return_time"), text=spec.text())
            continue
        group.same(f"{spec.name} return_time", time_back(nu), value(system, "return_time"), 1e-6, spec.text())
        warm = time_back(0.0) if any("orifice" in line for line in flowing) else None
        group.same(f"{spec.name} orifice_time", warm, value(system, "orifice_time"), 1e-6, spec.text())
    for spec in specs:
        slope, length, bore = (spec.values[path] for path in ("master.slope", "master.chamber", "master.bore"))

        def dry(x, rise=math.tan(slope), bore=bore):
            """What of the bore lies above the plane, so far from the outlet: a segment of a circle, by its angle."""
            depth = min(bore, max(0.0, x * rise))
            half = math.acos(1 - 2 * depth / bore)
            return bore**2 / 4 * (half - math.sin(half) * math.cos(half))

        ends = [0.0, length]
        if slope > 0 and bore / math.tan(slope) < length:
            ends.insert(1, bore / math.tan(slope))
        here = sum(quad(dry, a, b, epsabs=1e-11, epsrel=1e-12)[0] for a, b in zip(ends, ends[1:])) / 1000
        masters.same(spec.name, here, value(theirs[spec.name], "master_bubble_volume"), 1e-4, spec.text())
    group.report()
    masters.report()


def altitude():
    rng = random.Random(8)
    group = Group("air at altitude: lost_air and stroke", "fluids.ATMOSPHERE_1976, Boyle by brentq", 1e-6)
    specs = []
    for i in range(30):
        spec = plain_system(f"high_{i}", rng)
        height = rng.uniform(-300, 4500)
        text, ambient = spec.speller.plain("pressure", fluids.ATMOSPHERE_1976(height).P / 1e6, 12)
        spec.word("fluid.ambient", text)
        spec.values["fluid.ambient"] = ambient
        spec.put("fluid.air", "volume", rng.uniform(300, 4000))
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        car = Car(spec.values, spec.lines)
        pad, _ = car.full_pedal()
        s, air, p0 = car.state(pad), spec.values["fluid.air"], spec.values["fluid.ambient"]
        left = brentq(lambda v: (p0 + s["pressure"]) * v - p0 * air, 0, 2 * air, xtol=1e-14, rtol=1e-14)
        group.same(f"{spec.name} lost_air", (air - left) / car.a_s, value(theirs[spec.name], "lost_air"), text=spec.text())
        group.same(f"{spec.name} slave_travel", s["travel"], value(theirs[spec.name], "slave_travel"), text=spec.text())
    group.report()


def capstan():
    rng = random.Random(9)
    group = Group("cable: tension round its bends", "scipy.integrate.solve_ivp of dT/dθ = μ·T", 1e-6)
    specs = [plain_system(f"bend_{i}", rng, cable) for i in range(40)]
    theirs = calc(specs)
    for spec in specs:
        car = Car(spec.values, spec.lines)
        mu, bends = spec.values["cable.friction"], spec.values["cable.bends"]
        grown = solve_ivp(lambda _, t: mu * t, (0, bends), [1.0], method="DOP853", rtol=1e-12, atol=1e-14).y[0, -1]
        pads = np.unique(np.concatenate([np.linspace(0, car.full_pedal()[0], 500), car.knots(car.full_pedal()[0])]))
        pull = np.max(car.forces(car.solve_all(pads))[1])
        group.same(f"{spec.name} tension", pull * grown, value(theirs[spec.name], "cable_tension"), text=spec.text())
        group.same(f"{spec.name} efficiency", 1 / grown, value(theirs[spec.name], "cable_efficiency"), text=spec.text())
    group.report()


def torque():
    rng = random.Random(10)
    group = Group("torque capacity and margin, lift margin", "scipy.integrate.quad of uniform wear", 1e-6)
    specs = []
    for i in range(40):
        spec = plain_system(f"disc_{i}", rng, rng.choice([hydraulic, cable, linkage, concentric]))
        u = rng.uniform
        put_some(spec, {
            "cover.clamp_load": ("force", u(3000, 9000)), "cover.finger_ratio": ("number", u(2.8, 4.2)), "disc.outer": ("length", u(180, 300)),
            "disc.inner": ("length", u(110, 175)), "disc.friction": ("number", u(0.2, 0.45)), "disc.cushion": ("length", maybe(rng, 0.6, u(0.2, 1.2))),
            "disc.clearance": ("length", u(0.2, 0.6)), "engine.torque": ("torque", u(1e5, 5e5)), "engine.service_factor": ("number", maybe(rng, 0.6, u(1, 2))),
        })
        faces = rng.choice([None, 2, 4])
        if faces:
            spec.word("disc.faces", str(faces))
        spec.values["disc.faces"] = faces or 2
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        v, system = spec.values, theirs[spec.name]
        inner, outer = v["disc.inner"] / 2, v["disc.outer"] / 2
        # Pressure c/r: its force is the clamp load, its friction the torque.
        per_c = quad(lambda r: 2 * math.pi * r / r, inner, outer)[0]
        moment = quad(lambda r: 2 * math.pi * r * r / r, inner, outer)[0]
        clamp = v["cover.clamp_load"] - v["cover.finger_ratio"] * riding(v)
        capacity = v["disc.friction"] * clamp / per_c * moment * v["disc.faces"] / 1000
        wanted = v["engine.torque"] * v.get("engine.service_factor", 1.5) / 1000
        lift = Car(v, spec.lines).fingers() / v["cover.finger_ratio"]
        for name, here in dict(
            torque_capacity=capacity, torque_margin=capacity - wanted, plate_lift=lift,
            lift_margin=lift - v.get("disc.cushion", 0.0) - v["disc.faces"] * v["disc.clearance"],
        ).items():
            group.same(f"{spec.name} {name}", here, value(system, name), text=spec.text())
    group.report()


def cone_constant(outer, inner):
    """K1 of DIN 2092 from the strain of a section that turns about its neutral circle, by integration alone:
    the form's (δ+1)/(δ−1) − 2/ln δ is twice the mean square of the strain's arm."""
    a, b = outer / 2, inner / 2
    neutral = brentq(lambda c: quad(lambda x: (c - x) / x, b, a, epsabs=1e-13)[0], b, a, xtol=1e-13)
    arm = quad(lambda x: (neutral - x) ** 2 / x, b, a, epsabs=1e-13, epsrel=1e-13)[0] / (a - b) ** 2
    return ((outer - inner) / outer) ** 2 / (math.pi * 2 * arm)


def diaphragm():
    rng = random.Random(11)
    group = Group("diaphragm: clamp load new and worn, lever", "Almen–László (DIN 2092 form) by numpy, constant by scipy.integrate.quad", 1e-6)
    chain = Group("diaphragm: efforts and travels with its own release curve", "the same through brentq; the program's curve has 32 straight pieces", 2e-3)
    specs = []
    while len(specs) < 40:
        i = len(specs)
        spec = plain_system(f"spring_{i}", rng, rng.choice([hydraulic, concentric, cable]))
        for path in ("cover.release_load", "cover.finger_ratio"):
            spec.drop(path)
        u = rng.uniform
        outer, t = u(190, 240), u(2.0, 2.8)
        inner = outer * u(0.78, 0.86)
        put_some(spec, {
            "diaphragm.outer": ("length", outer), "diaphragm.inner": ("length", inner), "diaphragm.thickness": ("length", t),
            "diaphragm.height": ("length", t * u(1.4, 2.0)), "diaphragm.plate_circle": ("length", outer - u(2, 5)),
            "diaphragm.fulcrum_circle": ("length", inner + u(2, 6)), "diaphragm.finger_circle": ("length", u(38, 60)),
            "diaphragm.modulus": ("pressure", maybe(rng, 0.5, u(200e3, 212e3))), "diaphragm.poisson": ("number", maybe(rng, 0.5, u(0.27, 0.31))),
            "disc.wear": ("length", u(0.3, 0.8)), "disc.outer": ("length", u(200, 260)), "disc.inner": ("length", u(130, 170)), "disc.friction": ("number", u(0.2, 0.4)),
            "disc.cushion": ("length", maybe(rng, 0.7, u(0.4, 1.0))),
        })
        spec.put("diaphragm.set_deflection", "length", spec.values["diaphragm.height"] * u(0.75, 1.05))
        specs.append(spec)
    theirs = calc(specs)
    absent = 0
    for spec in specs:
        v, system = spec.values, theirs[spec.name]
        outer, inner, t, h = (v[f"diaphragm.{k}"] for k in ("outer", "inner", "thickness", "height"))
        e, nu = v.get("diaphragm.modulus", 206e3), v.get("diaphragm.poisson", 0.3)
        k1 = cone_constant(outer, inner)

        def edge(s):
            return 4 * e / (1 - nu**2) * t**4 / (k1 * outer**2) * (s / t) * ((h / t - s / t) * (h / t - s / (2 * t)) + 1)

        arm = (v["diaphragm.plate_circle"] - v["diaphragm.fulcrum_circle"]) / 2
        lever = (outer - inner) / 2 / arm
        ratio = (v["diaphragm.fulcrum_circle"] - v["diaphragm.finger_circle"]) / 2 / arm
        set_, wear, cushion = v["diaphragm.set_deflection"], v["disc.wear"], v.get("disc.cushion", 0.0)
        clamp = lever * edge(set_)
        group.same(f"{spec.name} clamp_load", clamp - ratio * riding(v), value(system, "clamp_load"), text=spec.text())
        group.same(f"{spec.name} ratio", ratio, value(system, "finger_travel") / value(system, "plate_lift"), text=spec.text())
        if system.get("worn"):
            worn = lever * edge(set_ - lever * wear) - ratio * riding(v, wear * ratio)
            group.same(f"{spec.name} worn clamp_load", worn, value(system, "clamp_load", "worn"), text=spec.text())
        most = v["cover.release_travel"][1] * 1.25

        def load(fingers):
            lift = np.minimum(fingers, most) / ratio
            on_disc = clamp * np.clip(1 - lift / cushion, 0, 1) if cushion > 0 else 0.0
            return (lever * edge(set_ + lever * lift) - on_disc) / ratio

        car = Car({**v, "cover.release_load": [(most * n / 8, 0.0) for n in range(9)], "cover.finger_ratio": ratio}, spec.lines)
        car.load, car.bends = load, sorted({*car.bends, min(ratio * cushion, most)} - {0.0})
        if np.min(load(np.linspace(0, most, 500))) < 0 or car.retreats():
            absent += 1
            continue
        mine, _ = car.results()
        for name in ("pedal_effort", "pedal_effort_full", "finger_travel", "release_point", "plate_lift", "wear_reserve", "pedal_work", "line_pressure"):
            if name in mine:
                chain.same(f"{spec.name} {name}", mine[name], value(system, name), 0.5, spec.text())
    group.report()
    chain.report()
    if absent:
        print(f"     left out of the second: {absent}, whose spring would draw the fingers in or the pad back")


def bubble():
    rng = random.Random(12)
    group = Group("bubble left by bleeding", "scipy.integrate.quad over the bore's height", 1e-6)
    specs = []
    for i in range(60):
        spec = plain_system(f"bubble_{i}", rng, (hydraulic, concentric)[i % 2])
        spec.put("slave.slope", "angle", math.radians(rng.uniform(-5, 0) if i % 10 == 0 else rng.uniform(0.3, 60)))
        spec.put("slave.chamber", "length", rng.uniform(5, 80))
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        v = spec.values
        slope, length = v["slave.slope"], v["slave.chamber"]
        here = 0.0
        if slope > 0:
            big = v.get("slave.bore") or v["slave.outer"]
            small, gap = (v["slave.inner"], (v["slave.outer"] - v["slave.inner"]) / 2) if "slave.inner" in v else (0.0, 0.0)

            def share(angle, diameter, down):
                """What a layer of a circle adds, its depth by the angle: it is dry from where the plane passes it."""
                depth = down + diameter / 2 * (1 - math.cos(angle))
                layer = (diameter * math.sin(angle)) * (diameter / 2 * math.sin(angle))
                return layer * max(0.0, length - depth / math.tan(slope))

            def volume(diameter, down):
                if diameter == 0.0:
                    return 0.0
                deepest = length * math.tan(slope) - down
                stop = math.acos(min(1.0, max(-1.0, 1 - 2 * deepest / diameter)))
                return quad(share, 0, stop, args=(diameter, down), epsabs=1e-10, epsrel=1e-12)[0]

            here = (volume(big, 0.0) - volume(small, gap)) / 1000
        group.same(spec.name, here, value(theirs[spec.name], "bubble_volume"), 1e-4, spec.text())
    group.report()


def alignment():
    rng = random.Random(13)
    group = Group("dial: offset and direction; tilt of the face", "numpy.linalg.lstsq", 1e-6)
    specs = []
    for i in range(40):
        spec = plain_system(f"bell_{i}", rng)
        count, off, towards = rng.randint(4, 12), rng.uniform(0.02, 0.4), rng.uniform(-math.pi, math.pi)
        angles = sorted(2 * math.pi * (k + rng.uniform(0, 0.5)) / count for k in range(count))
        spec.curve("bellhousing.dial", ("angle", "length"), [(a, 0.1 + off * math.cos(a - towards) + rng.uniform(-0.02, 0.02)) for a in angles])
        spec.put("bellhousing.face_runout", "length", rng.uniform(0.02, 1))
        spec.put("bellhousing.face_circle", "length", rng.uniform(100, 300))
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        angles, readings = (np.array(column) for column in zip(*spec.values["bellhousing.dial"]))
        (_, up, right), *_ = np.linalg.lstsq(np.column_stack([np.ones_like(angles), np.cos(angles), np.sin(angles)]), readings, rcond=None)
        there = value(theirs[spec.name], "bell_angle")
        group.same(f"{spec.name} bell_offset", float(np.hypot(up, right)), value(theirs[spec.name], "bell_offset"), text=spec.text())
        turn = math.remainder(math.degrees(math.atan2(right, up)) - there, 360)
        group.same(f"{spec.name} bell_angle", 360 + turn, 360.0, text=spec.text())
        tilt = brentq(lambda a: math.tan(a) * spec.values["bellhousing.face_circle"] - spec.values["bellhousing.face_runout"], 0, 0.5, xtol=1e-15)
        group.same(f"{spec.name} bell_tilt", math.degrees(tilt), value(theirs[spec.name], "bell_tilt"), text=spec.text())
    group.report()


def rods():
    rng = random.Random(14)
    slave = Group("slave's rod: worst angle, and best offset in mm", "scipy.optimize.minimize_scalar over offset and travel", 1e-6)
    pedals = Group("pedal's rod: worst angle", "scipy.optimize.minimize_scalar over travel", 1e-6)
    cut = Group("slave's rod: length to cut, with its offset", "numpy.linalg.norm", 1e-9)
    specs = []
    for i in range(60):
        spec = plain_system(f"rod_{i}", rng, assisted=True)
        u = rng.uniform
        spec.drop("fork.ratio")
        arm = spec.put("fork.slave_arm", "length", u(80, 140))
        put_some(spec, {
            "fork.bearing_arm": ("length", arm / u(1.3, 1.9)), "fork.rest_angle": ("angle", maybe(rng, 0.7, u(-0.2, 0.3))),
            "slave.rod_length": ("length", u(60, 150)), "slave.rod_offset": ("length", abs(u(-4, 4))),
            "slave.mount_to_fork": ("length", u(90, 150)), "slave.face_to_seat": ("length", u(10, 40)),
        })
        specs.append(spec)
    theirs = calc(specs)
    for spec in specs:
        v, car, system = spec.values, Car(spec.values, spec.lines), theirs[spec.name]
        full, _ = car.full_pedal()
        rest = -v.get("fork.rest_angle", 0.0)
        radius = v["fork.slave_arm"] / math.cos(rest)
        back = 0.0
        if "disc.wear" in v:
            back = car.fork * max(0.0, v["disc.wear"] * v["cover.finger_ratio"] - car.free_play)
        travel = car.state(full)["travel"]

        def turned(along):
            return brentq(lambda a: radius * (math.sin(a) - math.sin(rest)) - along, -math.pi / 2, math.pi / 2, xtol=1e-15)

        start, end = turned(-back), turned(travel)

        def side(angle):
            return radius * (math.cos(angle) - math.cos(rest))

        swung = np.linspace(start, end, 2001)
        sides = radius * (np.cos(swung) - np.cos(rest))
        best = int(np.argmax(sides))
        sides = [sides.min(), sides.max()]
        if 0 < best < 2000:
            sides[1] = max(sides[1], -minimize_scalar(lambda a: -side(a), bounds=(swung[best - 1], swung[best + 1]), method="bounded", options=dict(xatol=1e-12)).fun)

        def worst(offset):
            return math.degrees(max(abs(math.asin((offset + s) / v["slave.rod_length"])) for s in sides))

        # The rod as the hypotenuse over bore's line and offset, by numpy.
        along = v["slave.mount_to_fork"] + v["slave.face_to_seat"] - v.get("slave.rest_extension", 0.0)
        cut.same(f"{spec.name} rod_cut_length", float(np.linalg.norm([along, v["slave.rod_offset"]])), value(system, "rod_cut_length"), text=spec.text())
        slave.same(f"{spec.name} rod_angle", worst(v["slave.rod_offset"]), value(system, "rod_angle"), text=spec.text())
        found = minimize_scalar(worst, bounds=(-30, 30), method="bounded", options=dict(xatol=1e-10)).x
        slave.same(f"{spec.name} rod_offset_best", found, value(system, "rod_offset_best"), 1.0, spec.text())
        if "pedal.rod_length" not in v:
            continue
        length, r = v["pedal.rod_length"], car.rod_arm

        def lean(pad):
            a = car.rest + pad / v["pedal.pad_arm"]
            return math.degrees(abs(math.asin(r * (math.cos(a) - math.cos(car.rest)) / length)))

        pads = np.linspace(0, full, 1001)
        leans = [lean(pad) for pad in pads]
        best = int(np.argmax(leans))
        around = (pads[max(best - 1, 0)], pads[min(best + 1, 1000)])
        here = max(max(leans), -minimize_scalar(lambda pad: -lean(pad), bounds=around, method="bounded", options=dict(xatol=1e-10)).fun)
        pedals.same(f"{spec.name} pedal_rod_angle", here, value(system, "pedal_rod_angle"), text=spec.text())
    slave.report()
    pedals.report()
    cut.report()


AT = 118.0


def trapped_air():
    """Air is put in, the travel it costs is written down as measured, and the air is asked for."""
    rng = random.Random(15)
    back = Group("trapped air from slave travel, bearing travel and release point", "scipy.optimize.brentq", 1e-6)
    missing = Group("slave travel missing", "scipy.optimize.brentq", 1e-6)
    again = Group("slave travel with the air put back, --at the pad travel", "scipy.optimize.brentq", 1e-6)
    printed = Group("trapped air as printed for people, in cc", "pint", 0.01)
    stroke = Group("slave travel in mm with that air put back", "scipy.optimize.brentq", 0.05)
    specs, known = [], {}
    for i in range(60):
        air = rng.uniform(200, 4000)

        def good(spec, car):
            with_air, clean = car.changed(fluid__air=air), car.changed(fluid__air=0.0)
            if car.limit() < AT or with_air.retreats():
                return False
            # What has come to a hard stop says nothing of air.
            asked = clean.state(clean.asked_for()[0])
            if any(asked[of] > most for _, of, most in clean.stops()):
                return False
            s = with_air.state(AT)
            freed = with_air.pad_at_fingers(car.needed, with_air.full_pedal()[0])
            return s["bearing"] > car.free_play + 2 and s["piston"] < car.stroke - 0.5 and s["pressure"] > 0.3 and freed

        spec = plain_system(f"air_{i}", rng, (hydraulic, concentric)[i % 2], assisted=True, good=good)
        car = Car(spec.values, spec.lines).changed(fluid__air=air)
        s = car.state(AT)
        spec.drop("fluid.air")
        clean = Car(spec.values, spec.lines)
        reading = ("slave_travel", "bearing_travel", "release_point")[i % 3]
        if reading == "release_point":
            measured = at = car.pad_at_fingers(car.needed, car.full_pedal()[0])
        else:
            measured, at = s["travel" if reading == "slave_travel" else "bearing"], AT
        unit = rng.choice(["mm", "in", "cm"])
        spec.word(f"measured.{reading}", f"{measured / inside(1, unit, 'length'):.15f} {unit}")
        spec.word("measured.pedal_travel", f"{AT} mm")
        known[spec.name] = air, s["travel"], clean.state(at)["travel"] - car.state(at)["travel"]
        specs.append(spec)
    theirs = calc(specs)
    people = {}
    for block in re.split(r"^(?=air_\d+$)", run("\n".join(spec.text() for spec in specs), "calc", "--names"), flags=re.M)[1:]:
        found = re.search(r"^ +air_volume +(\S+) (\S+)", block, flags=re.M)
        people[block.split("\n")[0]] = found[1], found[2]
    exact, rounded = [], []
    for spec in specs:
        air, _, gone = known[spec.name]
        found = value(theirs[spec.name], "air_volume")
        back.same(spec.name, air / 1000, found, text=spec.text())
        missing.same(spec.name, gone, value(theirs[spec.name], "slave_travel_missing"), text=spec.text())
        spec.drop("measured.")
        spec.word("fluid.air", f"{found!r} cc")
        exact.append(spec.text())
        spec.word("fluid.air", " ".join(people[spec.name]))
        rounded.append(spec.text())
        number, unit = people[spec.name]
        # An absolute difference: a workshop's last digit is a hundredth of a cc, or a thousandth of a cubic inch.
        printed.same(spec.name, 1.0 + (inside(float(number), unit, "volume") - air) / 1000, 1.0, 1.0, spec.text())
    for texts, group in ((exact, again), (rounded, stroke)):
        theirs = calc(texts, "--at", f"{AT} mm")
        for text in texts:
            name = text.split()[1]
            travel, there = known[name][1], value(theirs[name], "slave_travel")
            if group is again:
                group.same(name, travel, there, text=text)
            else:
                # An absolute difference: three digits of the air are this rough.
                group.same(name, 1.0 + (there - travel), 1.0, 1.0, text)
    for group in (back, missing, again, printed, stroke):
        group.report()


# --- fault-finding ---


FITS = ROOT / "target/tmp/diagnosis.json"
WHILE_READING = 0.1
# What a spring scale is good for, N, and with how much a sound pedal comes up at the least, whatever the spec names.
SCALE, SOUND = 2.0, 6.0
BORES = sorted({*(25.4 * n / 16 for n in range(8, 21)), 0.7 * 25.4, *map(float, range(12, 33))})


class Sticking(Beside):
    """Such a car whose parts drag and whose fork has a spring. `u` rises by one, before all else, while fluid and fork take up what
    those ask for. `spring` and `pedal_spring` are those of the press, drag and all."""

    def __init__(self, values, lines=()):
        super().__init__(values, lines)
        self.spring += self.drags["master"]
        self.pedal_spring += self.drags["pedal"]

    def changed(self, **values):
        return Sticking(super().changed(**values).values, self.lines)

    @property
    def touch(self):
        """Where the bearing comes to the fingers."""
        return 1 + self.free_play

    def place(self, u):
        return super().place(np.maximum(np.asarray(u, dtype=float) - 1, 0))

    def place_of_fingers(self, fingers):
        return 1 + super().place_of_fingers(fingers)

    def forces(self, u, way=PRESS):
        u = np.asarray(u, dtype=float)
        share, sign = np.clip(u, 0, 1), 1.0 if way == PRESS else -1.0
        bearing, load = self.place(u)
        force = np.maximum(into(way, load / self.local(bearing), self.eta_f) + share * (self.fork_spring + sign * self.drags["fork"]), 0.0)
        travel = self.moved(bearing) + force * self.fork_give
        if not self.hydraulic:
            return bearing, force, travel, np.zeros_like(force), into(way, force / self.ratio, self.eta)
        push = into(way, force + share * self.drags["slave"], self.eta_s) if way == PRESS else force * self.eta_s - share * self.drags["slave"]
        pressure = np.maximum(0, (push - self.preload) / self.a_s)
        own = self.spring if way == PRESS else self.spring - 2 * self.drags["master"]
        return bearing, force, travel, pressure, np.maximum(into(way, pressure * self.a_m, self.eta_m) + own, 0.0)

    def corners(self, way=PRESS):
        places = [0.0, 1.0, self.touch, *(self.place_of_fingers(f) for f in [0.0, *self.bends])]
        if self.hydraulic and self.preload + self.drags["slave"] > 0:
            off = [float(self.forces(u, way)[3]) for u in places]
            for a, b, fa, fb in zip(places, places[1:], off, off[1:]):
                if (fa > 0) != (fb > 0):
                    # Where the pressure begins: halved until nothing is left.
                    low, high = (a, b) if fb > 0 else (b, a)
                    for _ in range(60):
                        middle = 0.5 * (low + high)
                        low, high = (low, middle) if float(self.forces(middle, way)[3]) > 0 else (middle, high)
                    places.append(high)
        return sorted(places)

    def let_up(self, rods, force):
        """Effort at the pad on the way back, with the rod there under a force."""
        pads = self.pads_of(np.asarray(rods, dtype=float))
        return force * self.rod_per_pad(pads) * self.pedal_efficiency + self.pedal_spring - 2 * self.drags["pedal"] - self.assist_at(pads)

    def return_efforts(self, places):
        return self.let_up(self.rod_at(places, RETURN), self.forces(places, RETURN)[4])

    def least_up(self, full):
        """Least effort at the pad on all the way back."""
        u, far = self.solve(full), self.rod_of(full)
        places = np.unique([v for v in [*self.corners(RETURN), *np.linspace(0, u or 0.0, 4000)] if v <= (u or 0.0)])
        values = self.return_efforts(places)
        best = int(np.argmin(values))
        least = values[best]
        if 0 < best < len(places) - 1:
            found = minimize_scalar(lambda v: float(self.return_efforts(np.array([v]))[0]), bounds=(places[best - 1], places[best + 1]), method="bounded", options=dict(xatol=1e-10))
            least = min(least, found.fun)
        # Before the port is shut: the mount no longer gives to the drag.
        press = self.spring if self.hydraulic else 0.0
        own = max(press - 2 * self.drags["master"], 0.0)
        take_up = press * self.give if self.hydraulic else 0.0
        past = np.unique(np.concatenate([np.linspace(-self.clearance, take_up + self.dead, 2000), [-1e-12, 0.0, take_up]]))
        past = past[(past >= -self.clearance) & (past <= far - self.clearance)]
        share = np.clip(past / take_up, 0, 1) if take_up > 0 else (past >= 0).astype(float)
        rods = np.maximum(self.clearance + past - (press - own) * share * (self.give if self.hydraulic else 0.0), 0.0)
        return min(least, float(np.min(self.let_up(rods, own * share))))


class Faulty:
    """A car with one thing wrong, read from the pad's travel."""

    def __init__(self, car):
        self.car = car
        self.full = car.full_pedal()[0]
        self.at_full = car.state(self.full)
        self.rod_force = car.highest(2, self.full)
        self.pressure = car.highest(1, self.full) if car.hydraulic else None
        self.effort = car.highest(0, self.full)
        self.clearance = car.pad_of(car.clearance)
        least = car.least_up(self.full)
        self.unnamed_up = 0.0 if least < -SCALE else max(0.0, SOUND - least)

    def softer(self, path, by):
        return {path.replace(".", "__"): 1 / (1 / self.car.values.get(path, math.inf) + by)}

    def changed(self, fault, size):
        car, values = self.car, self.car.values
        if fault == "air":
            return car.changed(fluid__air=values.get("fluid.air", 0.0) + size)
        if fault == "hose-swell":
            return type(car)(values, [*car.lines, dict(bore=1e-3, length=1.0, expansion=size / self.pressure)])
        if fault == "firewall-flex":
            return car.changed(**self.softer("master.mount_stiffness", size / self.rod_force))
        if fault == "fork-flex":
            return car.changed(**self.softer("fork.stiffness", size / self.at_full["fork_force"]))
        if fault == "fork-off-pivot":
            return car.changed(fork__ratio=size)
        if fault in ("small-master", "large-master"):
            return car.changed(master__bore=size)
        if fault in ("large-slave", "small-slave"):
            return car.changed(slave__bore=size)
        if fault == "less-free-play":
            return car.changed(pedal__free_play=self.clearance * (1 - size))
        if fault == "long-pedal":
            new = copy.deepcopy(car)
            # The arms stay where they are.
            new.pedal_end, new.stop, new._bracket = self.full + size, None, {}
            return new
        if fault == "lost-free-play":
            return car.changed(pedal__free_play=self.clearance + size)
        if fault == "short-pedal":
            return car.changed(pedal__stop=self.full - size)
        if fault in ("port-open", "leak-by"):
            by = size if fault == "port-open" else WHILE_READING * size * car.ratio
            return car.changed(master__port_travel=car.dead + by)
        if fault in ("stretched-cable", "loose-linkage"):
            block = "cable" if fault == "stretched-cable" else "linkage"
            change = self.softer(f"{block}.stiffness", 0.5 * size / self.rod_force)
            return car.changed(**change, **{f"{block}__play": car.dead + 0.5 * size})
        if fault == "friction":
            return car.changed(pedal__efficiency=car.pedal_efficiency * (1 - size))
        if fault == "binding":
            new = copy.deepcopy(car)
            new.eta_f, new._bracket = car.eta_f * (1 - size), {}
            return new
        if fault in ("stiff-cover", "late-release", "light-cover", "early-release"):
            load = values["cover.release_load"]
            near, far = values["cover.release_travel"]
            size = -size if fault in ("light-cover", "early-release") else size
            if fault.endswith("cover"):
                more = [(x, y * (1 + size)) for x, y in load] if isinstance(load, list) else load * (1 + size)
                return car.changed(cover__release_load=more)
            if near + size <= 0:
                raise ValueError(fault)
            load = load if isinstance(load, list) else [(0.0, 0.0), (near, load)]
            return car.changed(cover__release_load=load, cover__release_travel=[near + size, far])
        if fault == "bottomed":
            travel = self.at_full["travel"] - size
            stop = brentq(lambda pad: car.state(pad)["travel"] - travel, 0.0, self.full, xtol=1e-12)
            return car.changed(pedal__stop=stop)
        sticks = {"sticking-slave": "slave", "sticking-master": "master", "dry-fork": "fork", "binding-pedal": "pedal"}
        if fault in sticks:
            return car.changed(**{f"{sticks[fault]}__drag": car.drags[sticks[fault]] + size})
        weak = {"weak-pedal-spring": "pedal", "weak-master-spring": "master", "weak-fork-spring": "fork"}
        if fault in weak:
            return car.changed(**{f"{weak[fault]}__return_force": values[f"{weak[fault]}.return_force"] * (1 - size)})
        raise ValueError(fault)

    def misses(self, fault, size, taken):
        """By how many accuracies each reading lies above what this car would show."""
        try:
            car = self.changed(fault, size)
            full = car.full_pedal()[0]
            there = car.state(full)
        except ValueError:
            return None
        out = {}
        for one in taken:
            reading, read = one["reading"], one["value"]
            if reading in ("slave_travel", "fork_travel"):
                found = there["travel"]
            elif reading == "master_travel":
                found = there["piston"]
            elif reading == "bearing_travel":
                found = there["bearing"]
            elif reading == "pedal_effort":
                found = car.highest(0, full)
            elif reading == "line_pressure":
                found = car.highest(1, full)
            elif reading == "blocked_travel":
                try:
                    found = car.blocked(self.effort)
                except ValueError:
                    # The pedal alone drags with more than it is pressed with.
                    return None
            elif reading == "free_play":
                rod = car.clearance if car.hydraulic else float(car.rod_at(car.touch))
                end = car.limit()
                found = car.pad_of(rod) if rod < car.rod_of(end) else end
            elif reading == "held_effort":
                found = there["effort"]
            elif reading == "let_up_effort":
                u = car.solve(full)
                if u is None:
                    return None
                found = max(0.0, float(car.return_efforts(np.array([u]))[0]))
            elif reading in ("pedal_drag", "fork_drag"):
                found = car.drags[reading.split("_")[0]]
            elif reading == "half_travel":
                found = car.state(min(0.5 * self.full, full))["travel"]
            elif reading == "release_point":
                rod = float(car.rod_at(car.place_of_fingers(car.needed)))
                try:
                    found = brentq(lambda pad: car.rod_of(pad) - rod, 0.0, 20 * car.pedal_end, xtol=1e-12) if not car.crank else car.pad_of(rod)
                except ValueError:
                    return None
                # No disc is seen to come free where the pad does not go. With air in the line it goes past where the slave, the fork or
                # the bearing ends it on a healthy car, to the pedal's own end.
                if read > self.car.limit() + 3.0 and fault != "long-pedal":
                    found = min(found, self.car.limit())
            elif reading in ("frees", "comes_up"):
                freed = max(0.0, there["bearing"] - car.free_play) - car.needed
                margin = freed if reading == "frees" else car.least_up(full) + self.unnamed_up
                out[reading] = max(-margin, 0.0) / one["accuracy"] if read == "yes" else -max(margin, 0.0) / one["accuracy"]
                continue
            out[reading] = (read - found) / one["accuracy"]
        return out


def squares_of(misses):
    return sum(miss**2 for miss in misses.values()) if misses else 1e12


def diagnosis():
    """Every fault's best size on cars with one of them put in, fitted again by scipy's bounded minimizer."""
    group = Group("sizes of faults, as what they leave of each reading in accuracies", "scipy.optimize.minimize_scalar", 1e-3)
    if not FITS.exists():
        group.fail("diagnosis.json", "run `cargo test --test diagnose` first")
        group.report()
        return
    for n, known in enumerate(json.loads(FITS.read_text(encoding="utf-8"))):
        # No fault is the intensifier's own, and its chain is solved in a group of its own.
        if any(path.startswith("intensifier.") for path in known["values"]):
            continue
        car = Sticking(known["values"], known["lines"])
        if car.retreats() or not car.state(car.limit())["bearing"] > car.free_play + 1:
            continue
        faulty, taken = Faulty(car), known["taken"]
        for fit in known["fits"]:
            fault, size = fit["fault"], fit["value"]
            where = f"car {n}, {fault}"
            if fault in ("small-master", "large-slave", "large-master", "small-slave"):
                own = car.values["master.bore" if fault.endswith("master") else "slave.bore"]
                way = -1 if fault.startswith("small") else 1
                bores = [bore for bore in BORES if way * (bore - own) >= 0.3 and abs(math.log(bore / own)) <= 0.4]
                mine = min(bores, key=lambda bore: squares_of(faulty.misses(fault, bore, taken)))
            else:
                shift = math.log(car.fork) if fault == "fork-off-pivot" else 0.0
                low, high = (fit["low"], fit["high"]) if shift or fault == "fork-off-pivot" else (math.log(fit["low"]), math.log(fit["high"]))
                logs = np.linspace(low + shift, high + shift, 15)
                cost = lambda log: squares_of(faulty.misses(fault, math.exp(log), taken))
                costs = [cost(log) for log in logs]
                best = int(np.argmin(costs))
                around = logs[max(best - 1, 0)], logs[min(best + 1, 14)]
                found = minimize_scalar(cost, bounds=around, method="bounded", options=dict(xatol=1e-9))
                mine = math.exp(found.x if found.fun < costs[best] else logs[best])
            ours, theirs = faulty.misses(fault, mine, taken), fit["misses"]
            at_theirs = faulty.misses(fault, size, taken)
            if ours is None or at_theirs is None or any(abs(miss) >= 100 for miss in theirs.values()):
                continue
            for reading, miss in theirs.items():
                # What this solver finds at the program's size.
                group.same(f"{where}, {reading}", 1.0 + at_theirs[reading] - miss, 1.0, 1.0, known["text"])
            # Its own size leaves no less. Which of two sizes it is says nothing where the readings hardly move between them: behind an
            # effort that has had its highest, a row of sizes leaves the same, and the best is a pit at its end.
            # Where next to nothing is left, the squares are compared: the program gives a millionth of the plausibility beside them.
            left = [math.sqrt(squares_of(misses)) for misses in (ours, theirs)]
            more = max(0.0, left[1] - left[0]) * min(1.0, left[0] + left[1])
            group.same(f"{where}, all readings", 1.0 + more, 1.0, 1.0, known["text"])
    group.report()


# --- units ---


HYDRAULIC = {
    "pedal": "ratio = 6  travel = 150 mm", "master": "bore = 19 mm  stroke = 36 mm", "slave": "bore = 22 mm  stroke = 30 mm", "fork": "ratio = 1.6",
    "cover": "release_travel = 7 mm to 10 mm  release_load = 1500 N",
}
BY_CABLE = {**{k: v for k, v in HYDRAULIC.items() if k not in ("master", "slave")}, "cable": "friction = 1"}


def with_field(blocks, name, block, field):
    blocks = {**blocks, block: f"{blocks[block]}  {field}"}
    return f"system {name} {{\n" + "\n".join(f"    {k} {{ {v} }}" for k, v in blocks.items()) + "\n}"


def as_length(name, words):
    """A spec that gives a length back."""
    return with_field(HYDRAULIC, name, "slave", f"face_to_seat = 0 mm  mount_to_fork = {words}"), "rod_cut_length"


def as_force(name, words):
    return with_field(HYDRAULIC, name, "cover", f"clamp_load = {words}"), "clamp_load"


def echo(name, number, unit, dimension):
    """A spec that gives a value back in some result, which one, and what pint makes of it."""
    q, words = UREG.Quantity, f"{number} {unit}"
    if dimension == "length":
        return *as_length(name, words), q(number, unit).m_as("mm")
    if dimension == "volume":
        return *as_length(name, f"{words} / (2 cm^2)"), (q(number, unit) / q(2, "cm^2")).m_as("mm")
    if dimension == "force":
        return *as_force(name, words), q(number, unit).m_as("N")
    if dimension == "pressure":
        return *as_force(name, f"{words} * 3 cm^2"), (q(number, unit) * q(3, "cm^2")).m_as("N")
    if dimension == "angle":
        return with_field(BY_CABLE, name, "cable", f"bends = {words}"), "cable_efficiency", math.exp(-q(number, unit).m_as("rad"))
    if dimension == "time":
        return *as_length(name, f"sqrt(90 mm^2/s * {words})"), math.sqrt((q(90, "mm^2/s") * q(number, unit)).m_as("mm^2"))
    if dimension == "mass":
        return *as_force(name, f"{words} * 9.80665 m/s^2"), (q(number, unit) * q(9.80665, "m/s^2")).m_as("N")
    if dimension == "energy":
        return *as_force(name, f"{words} / 1 rad / 2 mm"), (q(number, unit) / q(2, "mm")).m_as("N")
    if dimension == "plain number":
        return *as_length(name, f"{words} * 100 mm"), (q(number, "percent") * q(100, "mm")).m_as("mm")
    if dimension == "temperature":
        text, result = as_length(name, f"t_{name} / (1 K) * 1 mm")
        return f"let t_{name} = {words}\n{text}", result, q(number, unit).m_as("K")
    raise ValueError(f"no spec gives a {dimension} back")


# What turns a value of each kind into a length, in the language and in pint.
INTO_LENGTH = {
    "length": ("", ""), "volume": (" / 1 mm^2", "1/mm^2"), "force": (" / (1 N/mm)", "mm/N"), "pressure": (" / (1 MPa) * 1 mm", "mm/MPa"),
    "stiffness": (" / (1 MPa)", "1/MPa"), "expansion": (" * 1 MPa / 1 mm", "MPa/mm"), "angle": (" / (1 rad) * 1 mm", "mm/rad"),
    "density": (" / (1 kg/m^3) * 1 mm", "mm*m^3/kg"), "viscosity": (" * 1 s / 1 mm", "s/mm"), "torque": (" / 1 N", "1/N"),
}


def units():
    """Every unit that the program knows, written in a spec that gives the value back."""
    listing = subprocess.run([BINARY, "explain", "units"], capture_output=True, text=True, encoding="utf-8", check=True).stdout
    known = re.findall(r"^  (\S+)  +.*\((.+)\)$", listing, flags=re.M)
    each = Group(f"units: all {len(known)} of `explain units`, three sizes of each", "pint", 1e-12)
    products = Group("units: products and quotients in every dimension that the specs use", "pint", 1e-12)
    texts, asked = [], []
    for unit, dimension in known:
        for number in (3.7, 0.0037, 1.25 if dimension == "angle" else 15987.7):
            name = f"unit_{len(texts)}"
            text, result, here = echo(name, number, unit, dimension)
            texts.append(text)
            asked.append((each, name, f"{number} {unit}", result, here))
    for dimension, ways in WAYS.items():
        for unit in dict.fromkeys(ways):
            if dimension in INTO_LENGTH:
                name, (words, other) = f"product_{len(texts)}", INTO_LENGTH[dimension]
                text, result = as_length(name, f"2.9 {unit}{words}")
                texts.append(text)
                amount = UREG.Quantity(2.9, unit) * (UREG.Quantity(1, other) if other else 1)
                asked.append((products, name, f"2.9 {unit}", result, amount.m_as("mm")))
    answer = json.loads(run("\n".join(texts), "calc", "--format", "json"))
    systems = {system["name"]: system for system in answer["systems"]}
    for group, name, words, result, here in asked:
        system = systems.get(name)
        group.same(words, float(here), value(system, result) if system and system.get("results") else None, 1e-9)
    each.report()
    products.report()


GROUPS = (chains, intensifiers, levers, drags, fork_stack, heat, take_up, draws, squares, cold_return, small, orifices, altitude, capstan, torque, diaphragm, bubble, alignment, rods, trapped_air, diagnosis, units)


def main():
    begin = time.monotonic()
    only = sys.argv[2:]
    for group in GROUPS:
        if not only or group.__name__ in only:
            try:
                group()
            except Exception:
                traceback.print_exc(file=sys.stdout)
                broken = Group(f"{group.__name__} could not be run", "none", 0.0)
                broken.fail(group.__name__, "see above")
    failed = sum(bool(group.failures) for group in Group.groups)
    print(f"{sum(group.count for group in Group.groups)} comparisons in {time.monotonic() - begin:.0f} s")
    print(f"{len(Group.groups) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
