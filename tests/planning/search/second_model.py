"""The least weighted cycle of stations by CP-SAT: the same question in the form that another solver takes.

Written from what the stations mean, not from the program that the project solves. Times are whole hundredths of a
second, and two lanes halve them: with two hundred units a second both solvers have the same numbers.

Figures: invented, bounds far above what the random instances need.
"""

import math

from ortools.sat.python import cp_model

UNIT = 200


def least_cycle(stations, weights):
    """Return the least Σ weight × cycle (whole weights), infinite where nothing fits."""
    question, cycles = asked(stations)
    return least(question.model, sum(w * c for w, c in zip(weights, cycles, strict=True))) / UNIT


def fewest_feeders(stations, most):
    """Return the least number of feeders with which no pass takes longer than *most* (seconds by pass)."""
    question, cycles = asked(stations)
    for cycle, seconds in zip(cycles, most, strict=True):
        question.model.add(cycle <= whole(seconds))
    return least(question.model, sum(question.stands.values()))


def least_cycle_with(stations, weights, feeders, most):
    """Return the least weighted cycle with so many feeders at most, where no pass takes longer than *most*."""
    question, cycles = asked(stations)
    for cycle, seconds in zip(cycles, most, strict=True):
        question.model.add(cycle <= whole(seconds))
    question.model.add(sum(question.stands.values()) <= feeders)
    return least(question.model, sum(w * c for w, c in zip(weights, cycles, strict=True))) / UNIT


def asked(stations):
    question = Question(stations)
    question.every_placement_has_a_feeder()
    question.feeders_have_places()
    cycles = []
    for p in range(stations.counts.shape[1]):
        question.tall_parts_leave_the_way_free(p)
        cycles.append(question.cycle(p))
    return question, cycles


def least(model, sums):
    model.minimize(sums)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.objective_value if status == cp_model.OPTIMAL else math.inf


def whole(value):
    assert math.isclose(value * UNIT, round(value * UNIT), abs_tol=1e-6)
    return round(value * UNIT)


class Question:
    """How many of each type each unit places in each pass, and where feeders stand."""

    def __init__(self, stations):
        self.stations, self.model = stations, cp_model.CpModel()
        self.types, self.passes = map(range, stations.counts.shape)
        self.units, self.machines = range(len(stations.units)), range(stations.machines)
        can = stations.can()
        self.number = {
            (j, u, p): self.model.new_int_var(0, int(stations.counts[j, p]) if can[j, u] else 0, "")
            for j in self.types
            for u in self.units
            for p in self.passes
        }
        self.stands = {(j, g): self.model.new_bool_var("") for j in self.types for g in stations.sites}

    def units_of(self, machine, gantry=None):
        owned = ((u, unit) for u, unit in enumerate(self.stations.units) if unit.machine == machine)
        return [u for u, unit in owned if gantry in (None, unit.gantry)]

    def every_placement_has_a_feeder(self):
        st, model = self.stations, self.model
        for j in self.types:
            for p in self.passes:
                model.add(sum(self.number[j, u, p] for u in self.units) == int(st.counts[j, p]))
                for m, gantry in st.sites:
                    here = sum(self.number[j, u, p] for u in self.units_of(m, gantry))
                    model.add(here == 0).only_enforce_if(~self.stands[j, (m, gantry)])
            if not st.split:
                model.add(sum(self.stands[j, g] for g in st.sites) == 1)

    def feeders_have_places(self):
        st, model = self.stations, self.model
        for m in self.machines:
            mounted = model.new_bool_var("")
            here = [(j, stands) for (j, site), stands in self.stands.items() if site[0] == m]
            for j, stands in here:
                if st.trays[j, m]:
                    model.add_implication(stands, mounted)
            slots = sum(int(st.slots[j, m]) * stands for j, stands in here) + int(st.tray_unit[m]) * mounted
            model.add(slots <= int(st.slots_there[m]))
            model.add(sum(int(st.trays[j, m]) * stands for j, stands in here) <= int(st.trays_there[m]))

    def tall_parts_leave_the_way_free(self, p):
        works = {}
        for m in self.machines:
            works[m] = self.model.new_bool_var("")
            placed = sum(self.number[j, u, p] for j in self.types for u in self.units_of(m))
            self.model.add(placed == 0).only_enforce_if(~works[m])
        for j, m, later in self.stations.in_the_way:
            tall = sum(self.number[j, u, p] for u in self.units_of(m))
            self.model.add(tall == 0).only_enforce_if(works[later])

    def cycle(self, p):
        st = self.stations
        cycle = self.model.new_int_var(0, 10**8, "")
        for m in self.machines:
            gantries = [self.work(m, g, p) for at, g in st.sites if at == m]
            loads = [busy for busy, _ in gantries]
            if len(gantries) > 1:
                loads.append(sum(above for _, above in gantries))
            fixed, hidden = whole(st.fixed[m, p]), whole(st.hidden[m, p])
            for load in loads:
                self.model.add(cycle >= fixed + load)
                self.model.add(2 * cycle >= fixed + hidden + load)
        return cycle

    def work(self, machine, gantry, p):
        """Return a gantry's time for a pass, and the share of it over the board."""
        busy = above = 0
        for u in self.units_of(machine, gantry):
            unit, able = self.stations.units[u], [j for j in self.types if self.stations.can()[j, u]]
            busy += sum(whole(self.stations.seconds[j, u]) * self.number[j, u, p] for j in able)
            above += sum(whole(self.stations.on_board[j, u]) * self.number[j, u, p] for j in able)
            if unit.per_trip:
                trips = self.model.new_int_var(0, 10**4, "")
                left = unit.per_trip * trips - sum(self.number[j, u, p] for j in able)
                self.model.add_linear_constraint(left, 0, unit.per_trip - 1)
                busy += whole(unit.trip) * trips
                above += whole(unit.trip_on_board) * trips
        return busy, above
