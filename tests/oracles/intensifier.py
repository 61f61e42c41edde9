"""A car with a stepped piston in its line: both sides of it by themselves, each with its pressure and its volume."""

import numpy as np

from car import PRESS, Car, disc, into


class Stepped(Car):
    def __init__(self, values, lines=()):
        super().__init__(values, lines)
        get = self.values.get
        self.large, self.small = disc(get("intensifier.in_bore")), disc(get("intensifier.out_bore"))
        self.eta_i = get("intensifier.efficiency", 0.95)
        self.gap = get("intensifier.port_travel", 0.0)
        self.port = get("master.port_travel", 0.0)
        self.dead = self.port + self.gap * self.large / self.a_m
        self.ratio = self.a_s / self.small * self.large / self.a_m

    def at_master(self, p, way):
        """Pressure on the master's side for one on the slave's: the push of one bore on the other."""
        return into(way, p * self.small, self.eta_i) / self.large

    def forces(self, u, way=PRESS):
        bearing, force, travel, p, _ = super().forces(u, way)
        rod = into(way, self.at_master(p, way) * self.a_m, self.eta_m) + self.spring
        return bearing, force, travel, p, rod

    def on_side(self, side, p):
        """What lines and fluid on one side take at the pressure there."""
        if side == "master":
            held = self.a_m * (self.stroke - self.port)
        else:
            held = self.small * self.values["intensifier.stroke"] + self.a_s * self.extension
        there = Car(self.values, [line for line in self.lines if line.get("at", "slave") == side])
        there.a_m, there.stroke, there.dead, there.extension = held, 1.0, 0.0, 0.0
        lines, fluid, air = there.lost(p)
        return lines, fluid, air if side == "slave" else 0.0 * air

    def lost(self, p, way=PRESS):
        """As volumes on the slave's side."""
        near, far = self.on_side("master", self.at_master(p, way)), self.on_side("slave", p)
        return tuple(a * self.small / self.large + b for a, b in zip(near, far))

    def piston(self, travel, p):
        """How far the stepped piston has moved."""
        return self.gap + (self.a_s * travel + sum(self.on_side("slave", p))) / self.small

    def balance(self, u, rod, way=PRESS):
        _, _, travel, p, force = self.forces(u, way)
        sent = self.a_m * (rod - self.clearance - force * self.give - self.port)
        return sent - sum(self.on_side("master", self.at_master(p, way))) - self.large * self.piston(travel, p)

    def knots(self, full):
        """More of them behind each corner, where air under the higher pressure bends the effort most."""
        corners = super().knots(full)
        shares = np.linspace(0, 1, 9)[:-1] ** 2
        between = corners[:-1, None] + np.diff(corners)[:, None] * shares
        return np.unique(np.append(between.ravel(), corners))

    def state(self, pad):
        state = super().state(pad)
        return state | {"stepped": self.piston(state["travel"], state["pressure"])}

    def stops(self):
        return [("intensifier_stroke", "stepped", self.values["intensifier.stroke"]), *super().stops()]

    def results(self, by_quad=False, at=None):
        out, cause = super().results(by_quad, at)
        out["intensifier_travel"] = self.state(out["pedal_travel_used"])["stepped"]
        out["master_pressure"] = float(np.max(self.at_master(out["line_pressure"], PRESS)))
        return out, cause
