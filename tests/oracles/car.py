"""The clutch solved from the pad's travel, by scipy's root finders.

Pad, rod and what is left of the master's volume come first; where the bearing then is, is the root of the
balance of volumes (or of travels, for a cable or a linkage). Written from the equations of the design alone.
N, mm, MPa, rad, s, t. Every value may be an array with one entry for each of many cars.
"""

import copy
import math

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, elementwise, minimize_scalar
from scipy.special import roots_legendre

AIR_AT_SEA = 0.101325
PRESS, RETURN = "press", "return"


def into(way, output, efficiency):
    """Force into a stage for a force out of it."""
    return output / efficiency if way == PRESS else output * efficiency


def disc(diameter):
    return np.pi * diameter**2 / 4


class Car:
    def __init__(self, values, lines=()):
        self.values, self.lines = dict(values), [dict(line) for line in lines]
        get = self.values.get
        self.pedal_end = get("pedal.travel")
        self.stop = get("pedal.stop")
        self.rod_arm = get("pedal.rod_arm")
        self.crank = self.rod_arm is not None
        self.pedal_ratio = get("pedal.pad_arm") / self.rod_arm if self.crank else get("pedal.ratio")
        if self.crank:
            # From square to the rod, below zero before it comes square.
            given = get("pedal.arm_angle")
            self.rest = -given if given is not None else -0.5 * self.pedal_end / get("pedal.pad_arm")
        self.pedal_efficiency = get("pedal.efficiency", 0.95)
        self.pedal_spring = get("pedal.return_force", 0.0)
        # What does not go with the load: friction here and there, and the spring that pulls the fork back.
        self.drags = {part: get(f"{part}.drag", 0.0) for part in ("pedal", "master", "slave", "fork")}
        self.fork_spring = get("fork.return_force", 0.0)
        self.assist = get("pedal.assist")
        self.kind = next(k for k in ("cable", "linkage", "master") if f"{k}.{PART[k]}" in self.values)
        self.hydraulic = self.kind == "master"
        self.stroke = np.inf
        self.spring = 0.0
        if self.hydraulic:
            self.stroke = get("master.stroke")
            self.a_m = disc(get("master.bore"))
            self.a_s = disc(get("slave.bore")) if get("slave.bore") is not None else disc(get("slave.outer")) - disc(get("slave.inner"))
            if get("slave.pull_rod") is not None:
                self.a_s = self.a_s - disc(get("slave.pull_rod"))
            self.ratio = self.a_s / self.a_m
            self.dead = get("master.port_travel", 0.0)
            self.spring = get("master.return_force", 0.0)
            self.eta_m = get("master.efficiency", 0.95)
            self.eta_s = get("slave.efficiency", 0.95)
            self.preload = get("slave.preload", 0.0)
            self.extension = get("slave.rest_extension", 0.0)
            self.give = 1 / get("master.mount_stiffness", math.inf)
            self.air = get("fluid.air", 0.0)
            self.ambient = get("fluid.ambient", AIR_AT_SEA)
            self.bulk = get("fluid.bulk_modulus")
            clearance = get("master.rod_clearance", 0.0)
        elif self.kind == "cable":
            self.ratio, self.dead, clearance = 1.0, get("cable.play", 0.0), 0.0
            self.give = 1 / get("cable.stiffness", math.inf)
            self.eta = np.exp(-get("cable.friction") * get("cable.bends"))
        else:
            self.ratio, self.dead, clearance = get("linkage.in_arm") / get("linkage.out_arm"), get("linkage.play", 0.0), 0.0
            self.give = 1 / get("linkage.stiffness", math.inf)
            self.eta = get("linkage.efficiency", 0.9)
        self.clearance = self.rod_of(get("pedal.free_play")) if get("pedal.free_play") is not None else clearance
        if get("fork.ratio") is not None:
            self.fork = get("fork.ratio")
        elif get("fork.slave_arm") is not None:
            self.fork = get("fork.slave_arm") / get("fork.bearing_arm")
        else:
            self.fork = 1.0
        self.tips = get("fork.tips")
        self.eta_f = get("fork.efficiency", 0.95) if "fork" in self.blocks() else 1.0
        self.fork_give = 1 / get("fork.stiffness", math.inf) + 1 / get("slave.mount_stiffness", math.inf)
        self.free_play = get("bearing.free_play", 0.0)
        self.needed, self.most = get("cover.release_travel")
        load = get("cover.release_load")
        if isinstance(load, list):
            self.load_x, self.load_y = (np.array(column, dtype=float) for column in zip(*load))
            self.peak, self.bends = None, [x for x in self.load_x if x > 0]
        else:
            self.peak, self.bends = load, [self.needed]
        self._bracket = {}

    def blocks(self):
        return {path.split(".")[0] for path in self.values}

    def changed(self, **values):
        """The same car with other values; a path's dot is written as two underscores."""
        new = copy.deepcopy(self.values)
        new.update({path.replace("__", "."): value for path, value in values.items()})
        return Car(new, self.lines)

    def take(self, which):
        """Of many cars, some."""
        def of(v):
            return v[which] if isinstance(v, np.ndarray) else v
        return Car({k: of(v) for k, v in self.values.items()}, [{k: of(v) for k, v in line.items()} for line in self.lines])

    # --- the pedal ---

    def rod_of(self, pad):
        """Rod travel, with the crank's eye on its circle and the rod's seat on the bore's line."""
        if not self.crank:
            return pad / self.pedal_ratio
        turned = self.rest + pad / self.values["pedal.pad_arm"]
        r, length = self.rod_arm, self.values.get("pedal.rod_length")
        along = r * (np.sin(turned) - np.sin(self.rest))
        if length is not None:
            across = r * (np.cos(turned) - np.cos(self.rest))
            along = along + np.sqrt(length**2 - across**2) - length
        return along

    def rod_per_pad(self, pad):
        """By the complex step, good to the last digit."""
        return self.rod_of(pad + 1e-30j).imag / 1e-30 if self.crank else 1 / self.pedal_ratio

    def pad_of(self, rod):
        if not self.crank:
            return rod * self.pedal_ratio
        if rod <= 1e-13:
            return 0.0
        return brentq(lambda pad: self.rod_of(pad) - rod, 0.0, 1.2 * self.pedal_end, xtol=1e-13, rtol=1e-14)

    def pads_of(self, rods):
        """The same for many rod travels at once, by Newton."""
        pads = rods * self.pedal_ratio
        for _ in range(30 if self.crank else 0):
            step = (self.rod_of(pads) - rods) / self.rod_per_pad(pads)
            pads = pads - step
            if np.max(np.abs(step)) < 1e-11:
                break
        return pads

    def assist_at(self, pad):
        return 0.0 if self.assist is None else np.interp(pad, *zip(*self.assist))

    # --- the fork, as a rigid body that is turned until its tips are where they belong ---

    def turned(self, bearing):
        """The fork's turn from square, its ends as points (across the shaft, along it), and how far the tips are past
        where the circle is followed. `fork.tips` says where they stand at rest, along the shaft from the ball."""
        get = self.values.get
        way = -1.0 if get("cover.pulls") else 1.0
        side = 1.0 if get("fork.outboard") else -1.0
        tip = get("fork.bearing_arm") + 1j * get("fork.tip_offset", 0.0)
        end = side * get("fork.slave_arm") + 1j * get("fork.end_offset", 0.0)
        wanted = self.tips + way * np.asarray(bearing, dtype=float)
        most = abs(tip) / math.sqrt(2)
        kept = np.clip(wanted, -most, most)
        turn = np.zeros_like(kept)
        for _ in range(60):
            there = tip * np.exp(1j * turn)
            turn = turn - (there.imag - kept) / there.real
        return turn, tip, end, wanted - kept, way * side

    def fork_place(self, bearing):
        """Where the outer end is along the shaft, from the ball, in the way it is pushed, and its local ratio."""
        turn, tip, end, past, way = self.turned(bearing)
        ratio = (end * np.exp(1j * turn)).real / (tip * np.exp(1j * turn)).real
        return way * ((end * np.exp(1j * turn)).imag + ratio * past), np.abs(ratio)

    def moved(self, bearing):
        return self.fork * bearing if self.tips is None else self.fork_place(bearing)[0] - self.fork_place(0.0)[0]

    def local(self, bearing):
        return self.fork if self.tips is None else self.fork_place(bearing)[1]

    def wear_room(self):
        if not self.hydraulic:
            return self.free_play
        if self.tips is None:
            return self.free_play + self.extension / self.fork
        return self.free_play + brentq(lambda back: -self.moved(-back) - self.extension, 0.0, 30.0, xtol=1e-13)

    # --- from the fork to the rod ---

    def load(self, fingers):
        if self.peak is not None:
            return self.peak * np.clip(fingers / self.needed, 0, 1)
        return np.interp(fingers, self.load_x, self.load_y)

    def place(self, u):
        """Bearing travel and load at a place: `u` is the bearing's travel up to the fingers, then rises by
        one while their first load comes on, then goes on with the bearing."""
        over = np.clip(u - self.free_play, 0, 1)
        bearing = np.where(u < self.free_play, u, np.maximum(self.free_play, u - 1))
        return bearing, over * self.load(np.maximum(bearing - self.free_play, 0))

    def place_of_fingers(self, fingers):
        return self.free_play + 1 + fingers

    def forces(self, u, way=PRESS):
        """Bearing travel, force and travel of the fork's end, pressure, force in the rod."""
        bearing, load = self.place(u)
        force = into(way, load / self.local(bearing), self.eta_f)
        travel = self.moved(bearing) + force * self.fork_give
        if self.hydraulic:
            pressure = np.maximum(0, (into(way, force, self.eta_s) - self.preload) / self.a_s)
            rod = into(way, pressure * self.a_m, self.eta_m) + self.spring
        else:
            pressure = np.zeros_like(force)
            rod = into(way, force / self.ratio, self.eta)
        return bearing, force, travel, pressure, rod

    def lost(self, p):
        """Volumes that hoses and tubes, the fluid, and the air take."""
        lines, volume = 0.0, self.a_m * (self.stroke - self.dead) + self.a_s * self.extension
        for line in self.lines:
            a, length = line["bore"] / 2, line["length"]
            volume = volume + np.pi * a**2 * length
            if "expansion" in line:
                lines = lines + line["expansion"] * length * p
            elif "wall" in line:
                b = a + line["wall"]
                u = p * a / line.get("modulus", 205e3) * ((b**2 + a**2) / (b**2 - a**2) + line.get("poisson", 0.3))
                lines = lines + np.pi * (2 * a * u + u**2) * length
        fluid = 0.0 if self.bulk is None else volume * p / self.bulk
        air = self.air - self.air * self.ambient / (self.ambient + p)
        return lines, fluid, air

    def balance(self, u, rod, way=PRESS):
        """What a rod travel sends out, less what the place `u` takes in: volume, or travel at the rod."""
        _, _, travel, p, force = self.forces(u, way)
        sent = rod - self.clearance - force * self.give - self.dead
        if self.hydraulic:
            return self.a_m * sent - sum(self.lost(p)) - self.a_s * travel
        return sent - self.ratio * travel

    def rod_at(self, u, way=PRESS):
        """The rod travel that keeps the balance."""
        return -self.balance(u, 0.0, way) / (self.a_m if self.hydraulic else 1.0)

    def idle_rod(self):
        """Rod travel at which the bearing begins to move."""
        return self.clearance + self.spring * self.give + self.dead

    def corners(self, way=PRESS):
        """Places where something begins or bends."""
        places = [0.0, self.free_play, *(self.place_of_fingers(f) for f in [0.0, *self.bends])]
        if self.hydraulic and self.preload > 0:
            carried = self.preload * (self.eta_s if way == PRESS else 1 / self.eta_s)
            off = [self.forces(u, way)[1] - carried for u in places]
            for (a, fa), (b, fb) in zip(zip(places, off), zip(places[1:], off[1:])):
                if fa * fb < 0 and self.tips is not None:
                    places.append(brentq(lambda u: float(self.forces(u, way)[1]) - carried, a, b, xtol=1e-13))
                elif fa * fb < 0:
                    places.append(a + (b - a) * fa / (fa - fb))
        return sorted(places)

    def grid(self, way=PRESS):
        """Places from rest on and the farthest that the rod has come by then; one car only."""
        if way not in self._bracket:
            corners = self.corners(way)
            places = np.unique(np.concatenate([corners, np.linspace(0, corners[-1] + 120, 800)]))
            self._bracket[way] = places, np.maximum.accumulate(self.rod_at(places, way))
        return self._bracket[way]

    def retreats(self):
        places, farthest = self.grid()
        return bool(np.any(self.rod_at(places) < farthest - 1e-12))

    def solve(self, pad):
        """The place for a pad travel, by brentq; the first one that the foot comes to. None while the
        bearing stands still."""
        rod = self.rod_of(pad)
        if rod <= self.idle_rod():
            return None
        places, farthest = self.grid()
        i = max(int(np.searchsorted(farthest, rod)), 1)
        low, high = places[i - 1], places[i]
        if self.balance(low, rod) <= 0:
            return low
        if self.balance(high, rod) >= 0:
            return high
        return brentq(self.balance, low, high, args=(rod,), xtol=1e-13, rtol=1e-14)

    def solve_all(self, pads):
        """The same for many pad travels at once; rest while the bearing stands still."""
        rods = self.rod_of(pads)
        moving = rods > self.idle_rod()
        places, farthest = self.grid()
        i = np.clip(np.searchsorted(farthest, rods), 1, len(places) - 1)
        low, high = places[i - 1], places[i]
        out = low.copy()
        todo = moving & (self.balance(low, rods) > 0)
        if np.any(todo):
            found = elementwise.find_root(self.balance, (low[todo], high[todo]), args=(rods[todo],), tolerances=dict(xatol=1e-13, xrtol=1e-14))
            # No root inside: rounding has it at the far end.
            out[todo] = np.where(found.success, found.x, high[todo])
        return np.where(moving, out, 0.0)

    def state(self, pad):
        """Everything at a pad travel, one car."""
        u = self.solve(pad)
        past = self.rod_of(pad) - self.clearance
        if u is None:
            take_up = self.spring * self.give
            force = 0.0 if past < 0 else self.spring * min(1.0, past / take_up if take_up > 0 else 1.0)
            values = (0.0, 0.0, 0.0, 0.0, force)
        else:
            values = tuple(map(float, self.forces(u)))
        bearing, fork_force, travel, p, force = values
        effort = into(PRESS, force * self.rod_per_pad(pad), self.pedal_efficiency) + self.pedal_spring - self.assist_at(pad)
        return dict(
            pad=pad, bearing=bearing, fork_force=fork_force, travel=travel, pressure=p, force=force, effort=float(effort),
            piston=max(past - force * self.give, 0.0), lost=self.lost(p) if self.hydraulic else (0.0, 0.0, 0.0),
            give=force * self.give,
        )

    def blocked(self, effort):
        """Pad travel that takes this effort while the slave's piston cannot move."""
        def at(pad):
            rod = self.rod_of(pad) - self.clearance
            force = lambda p: into(PRESS, p * self.a_m, self.eta_m) + self.spring
            excess = lambda p: self.a_m * (rod - force(p) * self.give - self.dead) - sum(self.lost(p))
            if excess(1e4) > 0:
                # Nothing gives: the pad stands still whatever presses it.
                return 1e9
            p = brentq(excess, 0.0, 1e4, xtol=1e-13, rtol=1e-14) if excess(0.0) > 0 else 0.0
            past = max(rod, 0.0)
            pressed = force(p) if p > 0 else min(self.spring, past / self.give if self.give > 0 else math.inf) if past > 0 else 0.0
            felt = into(PRESS, pressed * self.rod_per_pad(pad), self.pedal_efficiency) + self.pedal_spring - self.assist_at(pad)
            return max(felt - effort, rod - pressed * self.give - self.stroke)
        end = self.limit()
        return brentq(at, 0.0, end, xtol=1e-12) if at(end) > 0 else end

    def efforts(self, pads):
        """Effort, pressure and rod force over many pad travels."""
        past = self.rod_of(pads) - self.clearance
        _, _, _, p, force = self.forces(self.solve_all(pads))
        take_up = self.spring * self.give
        ramp = self.spring * (np.clip(past / take_up, 0, 1) if take_up > 0 else (past >= 0))
        idle = past <= take_up + self.dead
        force = np.where(idle, ramp, force)
        effort = force * self.rod_per_pad(pads) / self.pedal_efficiency + self.pedal_spring - self.assist_at(pads)
        return effort, np.where(idle, 0.0, p), force

    # --- results ---

    def limit(self):
        return self.pedal_end if self.stop is None else min(self.stop, self.pedal_end)

    def asked_for(self):
        """Pad travel where the pedal or the master alone ends it, and whether the master does."""
        end = self.limit()
        if self.state(end)["piston"] <= self.stroke:
            return end, False
        return brentq(lambda pad: self.state(pad)["piston"] - self.stroke, 0, end, xtol=1e-12, rtol=1e-13), True

    def stops(self):
        """What stops slave, fork and bearing: its name, what of the state it stops, and where."""
        get = self.values.get
        found = [("fork_window", "travel", get("fork.window")), ("bearing_guide", "bearing", get("bearing.max_travel"))]
        if self.hydraulic:
            found.insert(0, ("slave_stroke", "travel", get("slave.stroke") - self.extension))
        return [stop for stop in found if stop[2] is not None]

    def ended(self):
        """Pad travel at full pedal, and what ended it where that is not the pedal."""
        end, by_master = self.asked_for()
        ends = [(end, "master_stroke" if by_master else None)]
        for name, of, most in self.stops():
            if self.state(end)[of] > most:
                ends.append((brentq(lambda pad: self.state(pad)[of] - most, 0, end, xtol=1e-12, rtol=1e-13), name))
        return min(ends, key=lambda one: one[0])

    def full_pedal(self):
        """Pad travel at full pedal, and whether the master ended it."""
        end, cause = self.ended()
        return end, cause == "master_stroke"

    def fingers(self):
        """Finger travel at full pedal."""
        return max(0.0, self.state(self.full_pedal()[0])["bearing"] - self.free_play)

    def knots(self, full):
        """Pad travels where the effort jumps or bends, from rest to full pedal."""
        rods = [self.clearance, self.clearance + self.spring * self.give, self.idle_rod()]
        farthest = 0.0
        for u in self.corners():
            farthest = max(farthest, float(self.rod_at(u)))
            rods.append(farthest)
        # Between two corners too there may be a farthest place, from which the bearing runs ahead.
        places, _ = self.grid()
        along = self.rod_at(places)
        for i in 1 + np.nonzero((along[1:-1] > along[:-2]) & (along[1:-1] > along[2:]))[0]:
            top = minimize_scalar(lambda u: -float(self.rod_at(u)), bounds=(places[i - 1], places[i + 1]), method="bounded", options=dict(xatol=1e-11))
            rods.append(-top.fun)
        far = self.rod_of(full)
        pads = [0.0, full, *(self.pad_of(rod) for rod in rods if 0 < rod < far)]
        pads += [x for x, _ in self.assist or [] if 0 < x < full]
        return np.unique(pads)

    def highest(self, what, full):
        """Highest effort (0), pressure (1) or rod force (2): a dense search, then scipy's bounded minimizer."""
        knots = self.knots(full)
        pads = np.concatenate([knots, knots + 1e-9, knots - 1e-9, np.linspace(0, full, 300)])
        pads = np.unique(np.clip(pads, 0, full))
        values = self.efforts(pads)[what]
        best = int(np.argmax(values))
        low, high = pads[max(best - 1, 0)], pads[min(best + 1, len(pads) - 1)]
        found = values[best]
        if best not in (0, len(pads) - 1) and high - low > 1e-6:
            key = ("effort", "pressure", "force")[what]
            better = minimize_scalar(lambda pad: -self.state(pad)[key], bounds=(low, high), method="bounded", options=dict(xatol=1e-9))
            found = max(found, -better.fun)
        return found

    def work(self, full):
        """J, by Gauss's rule, ten places in each half of what lies between two knots."""
        knots = self.knots(full)
        knots = knots[np.append(True, np.diff(knots) > 1e-12)]
        ends = np.unique(np.concatenate([knots, 0.5 * (knots[:-1] + knots[1:])]))
        half, middle = 0.5 * np.diff(ends)[:, None], 0.5 * (ends[:-1] + ends[1:])[:, None]
        nodes, weights = roots_legendre(10)
        efforts = self.efforts((middle + half * nodes).ravel())[0].reshape(-1, 10)
        return float(np.sum(half * weights * efforts)) / 1000

    def work_by_quad(self, full):
        knots = self.knots(full)
        total = sum(quad(lambda pad: self.state(pad)["effort"], a, b, epsabs=1e-7, epsrel=1e-9, limit=200)[0] for a, b in zip(knots, knots[1:]) if b - a > 1e-9)
        return total / 1000

    def pad_at_fingers(self, fingers, full):
        """Pad travel on the press at which the fingers come to a travel; None if full pedal does not get
        there."""
        wanted = self.place_of_fingers(fingers)
        # The moment the first load comes on is the end of free play.
        wanted = self.free_play if fingers == 0 else wanted
        before = np.unique([u for u in [*self.grid()[0], *self.corners()] if u <= wanted] + [wanted])
        rod = float(np.max(self.rod_at(before)))
        if rod > self.rod_of(full) * (1 + 1e-13):
            return None
        return self.pad_of(rod)

    def return_efforts(self, places):
        rods = self.rod_at(places, RETURN)
        pads = self.pads_of(rods)
        force = self.forces(places, RETURN)[4]
        return force * self.rod_per_pad(pads) * self.pedal_efficiency + self.pedal_spring - self.assist_at(pads)

    def least_return(self, full):
        """Least effort on the way back, as long as the bearing is on the fingers."""
        u = self.solve(full)
        if u is None or u <= self.free_play:
            return None
        contact = min(self.place_of_fingers(0.0), u)
        corners = [c for c in self.corners(RETURN) if contact <= c <= u]
        # Closest together where the first load comes on, since air bends the way back most there.
        near = contact + (u - contact) * np.linspace(0, 1, 300) ** 3
        places = np.unique(np.concatenate([corners, [contact, u], np.linspace(contact, u, 300), near]))
        for pad, _ in self.assist or []:
            off = self.pads_of(self.rod_at(places, RETURN)) - pad
            for i in np.nonzero(off[:-1] * off[1:] < 0)[0]:
                at = brentq(lambda x: self.pad_of(float(self.rod_at(x, RETURN))) - pad, places[i], places[i + 1], xtol=1e-12)
                places = np.append(places, at)
            places = np.unique(places)
        values = self.return_efforts(places)
        best = int(np.argmin(values))
        found = values[best]
        if 0 < best < len(places) - 1:
            better = minimize_scalar(lambda x: float(self.return_efforts(np.array([x]))[0]), bounds=(places[best - 1], places[best + 1]), method="bounded", options=dict(xatol=1e-9))
            found = min(found, better.fun)
        return found

    def least_slack(self, full):
        """Least effort on the last of the way back: the springs, by the lever, less the assist."""
        far = self.rod_of(full)
        rods = [self.clearance, self.clearance + self.spring * self.give, float(self.rod_at(self.free_play))]
        pads = [self.pad_of(rod) if rod < far else full for rod in rods]
        touch = pads[-1]
        pads += [0.0, *(x for x, _ in self.assist or [] if x < touch)]
        pads = np.unique(np.concatenate([pads, np.array(pads) - 1e-9, np.linspace(0, touch, 2000)]))
        pads = pads[pads >= 0]
        past = self.rod_of(pads) - self.clearance
        take_up = self.spring * self.give
        force = self.spring * (np.clip(past / take_up, 0, 1) if take_up > 0 else (past >= 0))
        return np.min(force * self.rod_per_pad(pads) * self.pedal_efficiency + self.pedal_spring - self.assist_at(pads))

    def results(self, by_quad=False, at=None):
        """Every result of the chain, by its name in the language; in its units of output."""
        if at is not None:
            full, cause = at, None
        else:
            full, cause = self.ended()
        s = self.state(full)
        asked = self.state(self.asked_for()[0])
        fingers = max(0.0, s["bearing"] - self.free_play)
        out = dict(
            pedal_ratio=self.pedal_ratio, fork_ratio=self.fork, overall_ratio=self.pedal_ratio * self.ratio * self.fork,
            pedal_travel_used=full, fork_travel=s["travel"], bearing_travel=s["bearing"], finger_travel=fingers,
            lost_flex=s["fork_force"] * self.fork_give + s["give"] / self.ratio,
            release_margin=fingers - self.needed, overtravel_margin=self.most - fingers,
            release_point=self.pad_at_fingers(self.needed, full), stop_travel=self.pad_at_fingers(self.most, full),
            pedal_effort=self.highest(0, full), pedal_effort_full=s["effort"],
            pedal_effort_return=self.least_return(full), pedal_effort_slack=self.least_slack(full),
            pedal_work=(self.work_by_quad if by_quad else self.work)(full),
        )
        for name, of, most in self.stops():
            if name != "slave_stroke":
                out[name.split("_")[0] + "_reserve"] = most - asked[of]
        if self.hydraulic:
            lines, fluid, air = s["lost"]
            # On a mount that does not give, the piston would have moved on, up to its stroke.
            ideal = max(min(s["piston"] + s["give"], self.stroke) - self.dead, 0.0) / self.ratio
            out |= dict(
                hydraulic_ratio=self.ratio, master_travel=s["piston"], master_reserve=self.stroke - s["piston"],
                slave_travel_ideal=ideal, slave_travel=s["travel"], slave_reserve=self.values["slave.stroke"] - self.extension - asked["travel"],
                lost_hose=lines / self.a_s, lost_fluid=fluid / self.a_s if self.bulk is not None else None, lost_air=air / self.a_s,
                lost_port=self.dead / self.ratio, line_pressure=self.highest(1, full),
            )
        else:
            out["lost_play"] = self.dead / self.ratio
            if self.kind == "cable":
                out |= dict(cable_efficiency=self.eta, cable_tension=self.highest(2, full))
            else:
                out["linkage_ratio"] = self.ratio
        ratio, wear = self.values.get("cover.finger_ratio"), self.values.get("disc.wear")
        if ratio is not None:
            out["plate_lift"] = fingers / ratio
            if wear is not None:
                out["wear_reserve"] = self.wear_room() - wear * ratio
        return out, cause

    def worn(self):
        """The same car with the disc worn out and nothing adjusted; None where there is no room."""
        back = self.values["disc.wear"] * self.values["cover.finger_ratio"]
        pushed = max(0.0, back - self.free_play)
        change = dict(bearing__free_play=max(0.0, self.free_play - back))
        # Housing and guide stay where they are, and the new rest is further from them.
        if "fork.window" in self.values:
            change["fork__window"] = self.values["fork.window"] - self.moved(-pushed)
        if "bearing.max_travel" in self.values:
            change["bearing__max_travel"] = self.values["bearing.max_travel"] + pushed
        if pushed > 0:
            if not self.hydraulic or self.extension + self.moved(-pushed) < 0:
                return None
            change["slave__rest_extension"] = self.extension + self.moved(-pushed)
            if self.tips is not None:
                change["fork__tips"] = self.tips + (pushed if self.values.get("cover.pulls") else -pushed)
        return self.changed(**change)


    def many(self, count):
        """The same results for many cars at once, whose values are arrays; peaks and work by a fine walk from
        the bearing. For cars without assist in which the pad never retreats."""
        index = np.arange(count)

        def root(f, low, high):
            """Of f(car, u) for every car."""
            def of(u, *args):
                which = args[0].astype(int)
                return f(self.take(which), u, which)
            found = elementwise.find_root(of, (low, high), args=(index.astype(float),), tolerances=dict(xatol=1e-12, xrtol=1e-13))
            assert np.all(found.success)
            return found.x

        def spread(v):
            return np.broadcast_to(np.asarray(v, dtype=float), (count,)).copy()

        free_play = spread(self.free_play)
        pad = spread(self.pedal_end if self.stop is None else np.minimum(self.stop, self.pedal_end))
        rod = self.rod_of(pad)
        low, high = np.zeros(count), free_play + 200.0
        u = root(lambda car, u, which: car.balance(u, rod[which]), low, high)

        def piston(car, u):
            return car.rod_at(u) - car.clearance - car.forces(u)[4] * car.give

        over = piston(self, u) > self.stroke
        if np.any(over):
            bottom = root(lambda car, u, which: piston(car, u) - car.stroke, low, high)
            u = np.where(over, bottom, u)
            rod = np.where(over, self.rod_at(u), rod)
            pad = np.where(over, self.pads_of(rod), pad)
        asked_bearing, _, asked_travel, _, _ = self.forces(u)
        for name, of, most in self.stops():
            def past(car, u, which, of=of, most=spread(most)):
                moved = car.forces(u)
                return (moved[0] if of == "bearing" else moved[2]) - most[which]
            stopped = past(self, u, index) > 0
            if np.any(stopped):
                at = root(past, low, high)
                u = np.where(stopped, at, u)
                rod = np.where(stopped, self.rod_at(u), rod)
                pad = np.where(stopped, self.pads_of(rod), pad)
        assert np.all(u > free_play + 1), "fingers move in every draw"

        bearing, fork_force, travel, p, force = self.forces(u)
        fingers = bearing - free_play
        out = dict(
            pedal_ratio=spread(self.pedal_ratio), fork_ratio=spread(self.fork), overall_ratio=spread(self.pedal_ratio * self.ratio * self.fork),
            pedal_travel_used=pad, fork_travel=travel, bearing_travel=bearing, finger_travel=fingers,
            lost_flex=fork_force * self.fork_give + force * self.give / self.ratio,
            release_margin=fingers - self.needed, overtravel_margin=self.most - fingers,
            pedal_effort_full=force * self.rod_per_pad(pad) / self.pedal_efficiency + self.pedal_spring,
        )
        if "fork.window" in self.values:
            out["fork_reserve"] = self.values["fork.window"] - asked_travel
        if "bearing.max_travel" in self.values:
            out["bearing_reserve"] = self.values["bearing.max_travel"] - asked_bearing
        for name, wanted in (("release_point", self.needed), ("stop_travel", self.most)):
            at = self.rod_at(self.place_of_fingers(wanted) + np.zeros(count))
            there = at <= rod
            out[name] = np.where(there, self.pads_of(np.where(there, at, 0.0)), np.nan)

        # The walk, with all its corners.
        ends = [0.0, *self.bends, max(60.0, 2 * self.bends[-1])]
        places = np.array([[x + 1] for x in ends]) + free_play
        corners = [np.zeros(count), free_play, *places]
        if self.hydraulic:
            # Where the load outgrows the preload, on either stroke.
            places = np.concatenate([free_play[None], places])
            for carried, way in ((self.preload * self.eta_s, PRESS), (self.preload / self.eta_s, RETURN)):
                off = self.forces(places, way)[1] - carried
                for a, b, fa, fb in zip(places, places[1:], off, off[1:]):
                    inside = fa * fb < 0
                    corners.append(np.where(inside, a + (b - a) * fa / np.where(inside, fa - fb, 1.0), a))
        corners = np.minimum(np.sort(np.array(corners), axis=0), u)
        # Closest together where the pressure begins, since air bends the walk most there.
        shares = (np.linspace(0, 1, 13) ** 3)[None, :, None]
        walk = corners[:-1, None] + (corners[1:] - corners[:-1])[:, None] * shares
        _, _, _, ps, forces = self.forces(walk)
        rods = self.rod_at(walk)

        def effort(place):
            force, pads = self.forces(place)[4], self.pads_of(self.rod_at(place))
            return force * self.rod_per_pad(pads) / self.pedal_efficiency + self.pedal_spring

        # Between the steps beside the highest one, dropping a third at a time.
        flat = walk.reshape(-1, count)
        best = effort(flat).argmax(axis=0)
        low, high = flat[np.maximum(best - 1, 0), index], flat[np.minimum(best + 1, len(flat) - 1), index]
        peak = effort(flat[best, index])
        for _ in range(60):
            third = (high - low) / 3
            one, two = effort(low + third), effort(high - third)
            peak = np.maximum(peak, np.maximum(one, two))
            low, high = np.where(one < two, low + third, low), np.where(one < two, high, high - third)
        out["pedal_effort"] = peak
        # Trapezes, and what half as many would make of it.
        fine, half = (np.trapezoid(forces[:, ::n], rods[:, ::n], axis=1).sum(axis=0) for n in (1, 2))
        through = (4 * fine - half) / 3
        take_up = self.spring * self.give
        at_rod = self.spring * (0.5 * take_up + (self.dead if self.hydraulic else 0.0)) + through
        out["pedal_work"] = (at_rod / self.pedal_efficiency + self.pedal_spring * pad) / 1000
        out["pedal_effort_return"] = self.return_efforts(np.maximum(walk, free_play + 1)).min(axis=(0, 1))
        if self.hydraulic:
            lines, fluid, air = self.lost(p)
            at = piston(self, u)
            out |= dict(
                hydraulic_ratio=spread(self.ratio), master_travel=at, master_reserve=self.stroke - at, slave_travel=travel,
                slave_travel_ideal=(np.minimum(at + force * self.give, self.stroke) - self.dead) / self.ratio, slave_reserve=self.values["slave.stroke"] - self.extension - asked_travel,
                lost_hose=lines / self.a_s, lost_air=air / self.a_s, lost_port=spread(self.dead / self.ratio), line_pressure=ps.max(axis=(0, 1)),
            )
            if self.bulk is not None:
                out["lost_fluid"] = fluid / self.a_s
        else:
            out["lost_play"] = spread(self.dead / self.ratio)
            if self.kind == "cable":
                out |= dict(cable_efficiency=spread(self.eta), cable_tension=forces.max(axis=(0, 1)))
            else:
                out["linkage_ratio"] = spread(self.ratio)
        ratio, wear = self.values.get("cover.finger_ratio"), self.values.get("disc.wear")
        if ratio is not None:
            out["plate_lift"] = fingers / ratio
            if wear is not None:
                out["wear_reserve"] = spread(free_play + (self.extension / self.fork if self.hydraulic else 0.0) - wear * ratio)
        return out


PART = {"cable": "bends", "linkage": "in_arm", "master": "bore"}
