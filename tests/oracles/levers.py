"""Relay levers, solved by turning their pins.

A lever is two pins on one shaft. A pin at rest stands `arm` square to its rod and `arm·tan(angle)` behind square
along it; turned by an angle, its way along the rod is that of the turned vector. Forces follow from the virtual work
of the two pins. Written from the equations of the design alone; N, mm, rad.
"""

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from car import PRESS, Car, into


class Cable:
    """A cable in a lever's place: what goes in comes out, and Euler–Eytelwein's share of the pull."""

    def __init__(self, values):
        get = values.get
        self.arms = (1.0, 1.0)
        self.play, self.eta = get("play", 0.0), 1 / np.exp(get("friction") * get("bends"))
        self.give = 1 / get("stiffness", np.inf)

    def back(self, travel, force, way=PRESS):
        pulled = np.maximum(0.0, into(way, force, self.eta))
        return self.play + travel + pulled * self.give, pulled, np.ones_like(pulled), pulled * self.give


class Lever:
    def __init__(self, values):
        get = values.get
        self.arms = (get("in_arm"), get("out_arm"))
        self.behind = tuple(arm * np.tan(get(angle, 0.0)) for arm, angle in zip(self.arms, ("in_angle", "out_angle")))
        self.play, self.eta = get("play", 0.0), get("efficiency", 0.95)
        self.give = 1 / get("stiffness", np.inf)

    def way(self, which, turned):
        """Way of a pin along its rod, and how fast it goes per turn."""
        arm, behind = self.arms[which], self.behind[which]
        return arm * np.sin(turned) - behind * (np.cos(turned) - 1), arm * np.cos(turned) + behind * np.sin(turned)

    def turned(self, out):
        """The turn that brings the out pin so far, by Newton."""
        turned = np.asarray(out, dtype=float) / self.arms[1]
        for _ in range(60):
            way, speed = self.way(1, turned)
            step = (way - out) / speed
            turned = turned - step
            if np.max(np.abs(step)) < 1e-14:
                break
        return turned

    def back(self, travel, force, way=PRESS):
        """Travel and force at the in pin for those at the out pin, the ratio, and what the lever gives."""
        turned = self.turned(travel)
        (moved, fast), (_, slow) = self.way(0, turned), self.way(1, turned)
        force = np.maximum(0.0, into(way, force * slow / fast, self.eta))
        return self.play + moved + force * self.give, force, fast / slow, force * self.give


def through(levers, travel, force, way=PRESS):
    """The same through many levers; what they give, as travel at the last one's output."""
    ratio, given = 1.0, 0.0
    for lever in reversed(levers):
        travel, force, one, give = lever.back(travel, force, way)
        ratio = ratio * one
        given = given + give / ratio
    return travel, force, ratio, given


class Levered(Car):
    """A car with levers at the pedal and at the fork, for those without an assist whose pad does not retreat."""

    def __init__(self, values, lines, levers):
        super().__init__(values, lines)
        made = [(one["at"], Cable(one) if "bends" in one else Lever(one)) for one in levers]
        self.at_pedal = [lever for at, lever in made if at == "pedal"]
        self.at_fork = [lever for at, lever in made if at == "fork"]
        self.gap = 0.0
        if self.at_pedal and "pedal.free_play" in self.values:
            self.gap, self.clearance = self.clearance, 0.0

    def forces(self, u, way=PRESS):
        """As of a car without levers, with the travel of the slave's end."""
        bearing, load = self.place(u)
        force = into(way, load / self.fork, self.eta_f)
        travel = self.fork * bearing + force * self.fork_give
        moved, pushed, _, _ = through(self.at_fork, travel, force, way)
        if self.hydraulic:
            pressure = np.maximum(0, (into(way, pushed, self.eta_s) - self.preload) / self.a_s)
            rod = into(way, pressure * self.a_m, self.eta_m) + self.spring
        else:
            pressure = np.zeros_like(force)
            rod = into(way, pushed / self.ratio, self.eta)
        return bearing, force, moved, pressure, rod

    def at_rod(self, u, way=PRESS):
        """Travel and force of the pedal's rod at a place."""
        travel, force, _, _ = through(self.at_pedal, self.rod_at(u, way), self.forces(u, way)[4], way)
        return travel + self.gap, force

    def at(self, u):
        return {name: float(one) for name, one in zip(("bearing", "force", "output", "pressure", "input_force"), self.forces(u))}

    def fork_end(self, u):
        bearing, load = self.place(u)
        return self.fork * bearing + into(PRESS, load / self.fork, self.eta_f) * self.fork_give

    def effort(self, u, way=PRESS):
        rod, force = self.at_rod(u, way)
        pads = self.pads_of(np.asarray(rod, dtype=float))
        eta = 1 / self.pedal_efficiency if way == PRESS else self.pedal_efficiency
        return force * self.rod_per_pad(pads) * eta + self.pedal_spring

    def results(self):
        """Every result that levers bear on; None where the pedal does not bring the fingers to move, or something
        other than the pedal ends its travel, or the pad would retreat."""
        pad = self.limit()
        rod = self.rod_of(pad)
        contact = self.place_of_fingers(0.0)
        miss = lambda u: float(self.at_rod(u)[0]) - rod
        high = contact + 1.0
        while miss(high) < 0:
            high += 1.0
            if high > 90 + contact:
                return None
        if miss(contact) >= 0:
            return None
        u = brentq(miss, contact, high, xtol=1e-13, rtol=1e-14)
        walk = np.unique(np.concatenate([np.linspace(contact, u, 2000), [self.place_of_fingers(f) for f in self.bends if self.place_of_fingers(f) < u]]))
        if np.any(np.diff(self.at_rod(walk)[0]) < 0):
            return None
        s = self.at(u)
        fingers = s["bearing"] - self.free_play
        end = float(self.fork_end(u))
        input_travel = float(self.rod_at(u))
        piston = input_travel - self.clearance - s["input_force"] * self.give
        for most, of in ((self.stroke, piston), (self.values.get("fork.window"), end), (self.values.get("bearing.max_travel"), s["bearing"])):
            if most is not None and of > most:
                return None
        if self.hydraulic and s["output"] > self.values["slave.stroke"] - self.extension:
            return None
        _, _, fork_levers, fork_give = through(self.at_fork, end, s["force"])
        _, _, pedal_levers, pedal_give = through(self.at_pedal, input_travel, s["input_force"])
        out = dict(
            pedal_travel_used=pad, fork_travel=end, bearing_travel=s["bearing"], finger_travel=fingers,
            release_margin=fingers - self.needed, overtravel_margin=self.most - fingers, relay_ratio=float(fork_levers * pedal_levers) if any(isinstance(one, Lever) for one in self.at_fork + self.at_pedal) else None,
            lost_flex=s["force"] * self.fork_give + float(fork_give) + (s["input_force"] * self.give + float(pedal_give)) / float(self.ratio * fork_levers),
            pedal_effort_full=float(self.effort(u)),
        )
        at_rest = 1.0
        lost = 0.0
        for lever in reversed(self.at_fork):
            at_rest *= lever.arms[0] / lever.arms[1]
            lost += lever.play / at_rest
        at_rest *= self.ratio
        lost += 0.0 if self.hydraulic else self.dead / at_rest
        for lever in reversed(self.at_pedal):
            at_rest *= lever.arms[0] / lever.arms[1]
            lost += lever.play / at_rest
        out["lost_play"] = lost
        out["overall_ratio"] = self.pedal_ratio * at_rest * self.fork
        if fingers >= self.needed:
            out["release_point"] = self.pad_of(float(self.at_rod(self.place_of_fingers(self.needed))[0]))
        # Corners of the load, then a fine walk.
        corners = [0.0, self.free_play, *(self.place_of_fingers(f) for f in [0.0, *self.bends])]
        places = np.unique([c for c in corners if c < u] + [u])
        fine = np.unique(np.concatenate([np.linspace(a, b, 200) for a, b in zip(places, places[1:])]))
        for name, which in (("pedal_effort", self.effort), ("line_pressure", lambda u: self.forces(u)[3])):
            if name == "line_pressure" and not self.hydraulic:
                continue
            values = which(fine)
            best = int(np.argmax(values))
            most = float(values[best])
            if 0 < best < len(fine) - 1:
                top = minimize_scalar(lambda x: -float(which(np.array(x))), bounds=(fine[best - 1], fine[best + 1]), method="bounded", options=dict(xatol=1e-10))
                most = max(most, -top.fun)
            out[name] = most
        if self.hydraulic:
            out |= dict(slave_travel=s["output"], master_travel=piston)
        if self.hydraulic and self.preload > 0:
            pushed = lambda x: float(through(self.at_fork, self.fork_end(x), self.forces(x)[1])[1]) / self.eta_s - self.preload
            for a, b in zip(places, places[1:]):
                if pushed(a) < 0 < pushed(b):
                    places = np.append(places, brentq(pushed, a, b, xtol=1e-14))
            places = np.sort(places)
        out["pedal_work"] = self.work(places, pad)
        return out

    def work(self, places, pad):
        """J, of trapezes over the rod's travel, taken finer and finer as Richardson has it."""
        total = 0.0
        take_up = self.spring * self.give
        idle = [self.clearance, self.clearance + take_up, self.idle_rod()]
        slack = lambda x: through(self.at_pedal, x, self.spring * np.clip((x - self.clearance) / take_up, 0, 1) if take_up > 0 else self.spring * np.ones_like(x))
        start, force = slack(np.array(self.clearance if take_up > 0 else self.clearance + 1e-12))[:2]
        # The spring's force comes on at once: the levers give to it half of what force times travel is.
        rest = through(self.at_pedal, self.clearance, 0.0)[0]
        total += 0.5 * float(force) * (float(start) - float(rest)) if take_up == 0 else 0.0
        pieces = [lambda t, a=a, b=b: slack(a + (b - a) * t)[:2] for a, b in zip(idle, idle[1:]) if b - a > 1e-12]
        pieces += [lambda t, a=a, b=b: self.at_rod(a + (b - a) * t) for a, b in zip(places, places[1:])]
        last = idle[-1]
        begins = through(self.at_pedal, last, self.spring)[0] + self.gap
        first = float(self.at_rod(0.0)[0])
        # Through the play of the levers at the fork, against the spring alone.
        total += self.spring_through(last, float(self.rod_at(0.0)))
        assert first >= begins - 1e-9
        for piece in pieces:
            sums = []
            for n in (512, 1024, 2048):
                # Closest together where the pressure begins, since air bends the walk most there.
                x, f = piece(np.linspace(0, 1, n + 1) ** 3)
                sums.append(np.trapezoid(f, x))
            once = [(4 * b - a) / 3 for a, b in zip(sums, sums[1:])]
            total += (16 * once[1] - once[0]) / 15
        return (total / self.pedal_efficiency + self.pedal_spring * pad) / 1000

    def spring_through(self, a, b):
        if b - a < 1e-12:
            return 0.0
        x = np.linspace(a, b, 2049)
        travel, force, _, _ = through(self.at_pedal, x, self.spring * np.ones_like(x))
        return float(np.trapezoid(force, travel))
