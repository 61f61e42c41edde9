"""Cars with friction that does not go with the load, solved from the pad's travel.

Between the port's shutting and the bearing's first move, fluid and fork take up what drag and spring ask for while the
bearing stands still: `u` rises by one there, before all that a car without them does. Written from the equations of the
design alone; N, mm, MPa, rad.
"""

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from car import PRESS, RETURN, Car, into


def sign(way):
    return 1.0 if way == PRESS else -1.0


class Dragging(Car):
    """For cars without an assist whose pad does not retreat."""

    def place_of_fingers(self, fingers):
        return 1 + super().place_of_fingers(fingers)

    def own(self, way):
        """Force at the master's piston without pressure."""
        return self.spring + sign(way) * self.drags["master"]

    def forces(self, u, way=PRESS):
        u = np.asarray(u, dtype=float)
        share = np.clip(u, 0, 1)
        bearing, load = self.place(np.maximum(u - 1, 0))
        force = into(way, load / self.fork, self.eta_f) + share * (self.fork_spring + sign(way) * self.drags["fork"])
        force = np.maximum(force, 0.0)
        travel = self.fork * bearing + force * self.fork_give
        if self.hydraulic:
            slave = share * self.drags["slave"]
            push = (force + slave) / self.eta_s if way == PRESS else force * self.eta_s - slave
            pressure = np.maximum(0, (push - self.preload) / self.a_s)
            rod = np.maximum(0, into(way, pressure * self.a_m, self.eta_m) + self.own(way))
        else:
            pressure = np.zeros_like(force)
            rod = into(way, force / self.ratio, self.eta)
        return bearing, force, travel, pressure, rod

    def felt(self, u, way=PRESS):
        """Effort at a place."""
        pads = self.pads_of(np.asarray(self.rod_at(u, way), dtype=float))
        return into(way, self.forces(u, way)[4] * self.rod_per_pad(pads), self.pedal_efficiency) + self.pedal_spring + sign(way) * self.drags["pedal"]

    def bends_at(self, way):
        """Places where something begins or bends."""
        return [0.0, 1.0, 1 + self.free_play, *(self.place_of_fingers(f) for f in [0.0, *self.bends])]

    def extreme(self, what, low, high, bends):
        """The highest of a function between two places: a dense search, then scipy's bounded minimizer."""
        places = np.unique(np.concatenate([[b for b in bends if low <= b <= high], np.linspace(low, high, 3000)]))
        values = what(places)
        best = int(np.argmax(values))
        found = values[best]
        if 0 < best < len(places) - 1:
            ends = (places[best - 1], places[best + 1])
            better = minimize_scalar(lambda u: -float(what(np.array([u]))[0]), bounds=ends, method="bounded", options=dict(xatol=1e-11))
            found = max(found, -better.fun)
        return float(found)

    def results(self):
        """The results that drag bears on; None where the pedal does not bring the fingers to move, or something other
        than the pedal ends its travel, or the pad would retreat."""
        pad = self.limit()
        rod = self.rod_of(pad)
        contact = self.place_of_fingers(0.0)
        miss = lambda u: float(self.rod_at(u)) - rod
        high = contact + 1.0
        while miss(high) < 0:
            high += 1.0
            if high > 90 + contact:
                return None
        if miss(contact) >= 0:
            return None
        u = brentq(miss, contact, high, xtol=1e-13, rtol=1e-14)
        bends = self.bends_at(PRESS)
        walk = np.unique(np.concatenate([np.linspace(0, u, 4000), [b for b in bends if b < u]]))
        if np.any(np.diff(self.rod_at(walk)) < -1e-12):
            return None
        bearing, fork_force, travel, pressure, force = map(float, self.forces(u))
        if self.hydraulic and rod - self.clearance - force * self.give > self.stroke:
            return None
        for _, of, most in self.stops():
            if {"travel": travel, "bearing": bearing}[of] > most:
                return None
        fingers = bearing - self.free_play
        out = dict(
            pedal_travel_used=pad, fork_travel=travel, bearing_travel=bearing, finger_travel=fingers,
            lost_flex=fork_force * self.fork_give + force * self.give / self.ratio,
            release_margin=fingers - self.needed, pedal_effort_full=float(self.felt(u)),
            free_travel=float(self.pads_of(np.asarray(self.rod_at(1 + self.free_play)))),
        )
        for name, wanted in (("release_point", self.needed), ("stop_travel", self.most)):
            at = float(self.rod_at(self.place_of_fingers(wanted)))
            out[name] = self.pad_of(at) if at <= rod else None
        out["pedal_effort"] = max(self.extreme(self.felt, 0.0, u, bends), self.highest_idle())
        out["pedal_effort_return"] = -self.extreme(lambda v: -self.felt(v, RETURN), contact, u, bends)
        slack = -self.extreme(lambda v: -self.felt(v, RETURN), 0.0, 1 + self.free_play, bends)
        out["pedal_effort_slack"] = min(slack, self.least_idle())
        # Trapezes between the bends, and what half as many would make of them.
        ends = sorted({0.0, u, *(b for b in [*bends, *self.kinks()] if 0 < b < u)})
        total = 0.0
        for low, high in zip(ends, ends[1:]):
            # Closest together at both ends, where air bends the walk most.
            t = 0.5 - 0.5 * np.cos(np.linspace(0, np.pi, 4097))
            places = low + (high - low) * t
            rods, forces = self.rod_at(places), self.forces(places)[4]
            fine, half = (np.trapezoid(forces[::n], rods[::n]) for n in (1, 2))
            total += (4 * fine - half) / 3
        own = self.own(PRESS) if self.hydraulic else 0.0
        idle = own * (0.5 * own * self.give + self.dead) if self.hydraulic else 0.0
        springs = (self.pedal_spring + self.drags["pedal"]) * pad
        out["pedal_work"] = ((idle + total) / self.pedal_efficiency + springs) / 1000
        if self.hydraulic:
            out |= dict(line_pressure=self.extreme(lambda v: self.forces(v)[3], 0.0, u, bends), slave_travel=travel, master_travel=rod - self.clearance - force * self.give)
        return out

    def kinks(self):
        """Places where the pressure begins on the press."""
        if not self.hydraulic or self.preload <= 0:
            return []
        carried = lambda u: float((self.forces(u)[1] + min(max(u, 0), 1) * self.drags["slave"]) / self.eta_s - self.preload)
        places = self.bends_at(PRESS)
        pairs = [(a, b) for a, b in zip(places, places[1:]) if carried(a) * carried(b) < 0]
        return [brentq(carried, a, b, xtol=1e-14) for a, b in pairs]

    def on_idle(self, way):
        """Effort from rest to where the port is shut."""
        own = max(self.own(way), 0.0) if self.hydraulic else 0.0
        press = self.own(PRESS) if self.hydraulic else 0.0
        take_up = press * self.give
        before = [-self.clearance, -1e-12] if self.clearance > 0 else []
        past = np.unique(np.concatenate([before, [0.0, take_up], np.linspace(-self.clearance, take_up + self.dead, 2000)]))
        share = np.clip(past / take_up, 0, 1) if take_up > 0 else (past >= 0).astype(float)
        # On the way back the mount no longer gives to the drag.
        rods = np.maximum(self.clearance + past - (press - own if way == RETURN else 0.0) * self.give * share, 0.0)
        pads = self.pads_of(rods)
        return into(way, own * share * self.rod_per_pad(pads), self.pedal_efficiency) + self.pedal_spring + sign(way) * self.drags["pedal"]

    def highest_idle(self):
        return float(np.max(self.on_idle(PRESS)))

    def least_idle(self):
        return float(np.min(self.on_idle(RETURN)))
