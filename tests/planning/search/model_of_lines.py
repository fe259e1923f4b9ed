"""The least mean cycle of a line by CP-SAT, from its machine profiles and the parts' heights alone.

Written from what a profile and a board say, not from the numbers that the project solves: boards of one set-up with
their own counts on either side, machines that carry parts over what stands on the board, gantries that take turns,
lanes, trips, nozzles and tray units. Times are whole microseconds.

Figures: invented, bounds far above what the random instances need.
"""

import math

from ortools.sat.python import cp_model

MICRO = 1_000_000


def micro(seconds):
    return round(seconds * MICRO)


def move(mm, timing):
    """Return the seconds of a move from rest to rest, ramps of equal acceleration: in micro."""
    v, a = timing.speed, timing.acceleration
    return micro(mm / v + v / a if mm >= v * v / a else 2 * math.sqrt(mm / a))


class Question:
    """*proved* counts heights and tapes at their high end and heads that surely take a part; else all for the best."""

    def __init__(self, line, job, can, *, split, proved):
        self.line, self.job, self.proved, self.model = line, job, proved, cp_model.CpModel()
        self.heads = [(m, head) for m, machine in enumerate(line.machines) for head in machine.head]
        self.passes, self.parts = range(len(job.passes)), range(len(job.parts))
        self.number = {}
        for j in self.parts:
            for p in self.passes:
                every = job.parts[j].counts[p] * job.passes[p].circuits
                able = [k for k in range(len(self.heads)) if can[j, k] > 0 or (can[j, k] == 0 and not proved)]
                for k in able:
                    self.number[j, k, p] = self.model.new_int_var(0, every, "")
                self.model.add(sum(self.number[j, k, p] for k in able) == every)
        self.feeders(split)

    def of(self, m, p, gantry=None, part=None):
        return [
            n
            for (j, k, q), n in self.number.items()
            if self.heads[k][0] == m and q == p and gantry in {None, self.heads[k][1].gantry} and part in {None, j}
        ]

    def feeders(self, split):
        model = self.model
        stands = {}
        for m, machine in enumerate(self.line.machines):
            unit = model.new_bool_var("")
            slots, trays = [machine.feeders.tray_slots * unit], []
            for gantry in {head.gantry for head in machine.head}:
                for j in self.parts:
                    here = stands[j, m, gantry] = model.new_bool_var("")
                    for p in self.passes:
                        model.add(sum(self.of(m, p, gantry, j)) == 0).only_enforce_if(~here)
                    part = self.job.parts[j]
                    if part.supply == "tray":
                        trays.append(here)
                        model.add_implication(here, unit)
                    else:
                        width = part.tape_width.high if self.proved else part.tape_width.low
                        slots.append(int(machine.feeders.slots_used[f"{width:g} mm"]) * here)
            model.add(sum(slots) <= machine.feeders.slots)
            model.add(sum(trays) <= machine.feeders.tray_places)
        if not split:
            for j in self.parts:
                model.add(sum(here for (k, _, _), here in stands.items() if k == j) == 1)

    def nothing_is_carried_over_what_is_too_tall(self, p):
        for later, machine in enumerate(self.line.machines):
            room = machine.board.top_clearance
            if room is None:
                continue
            works = self.model.new_bool_var("")
            self.model.add(sum(self.of(later, p)) == 0).only_enforce_if(~works)
            for j in self.parts:
                height = self.job.parts[j].height
                if (height.high if self.proved else height.low) > room:
                    before = sum(sum(self.of(m, p, part=j)) for m in range(later))
                    self.model.add(before == 0).only_enforce_if(works)

    def cycle(self, p):
        self.nothing_is_carried_over_what_is_too_tall(p)
        cycle, board = self.model.new_int_var(0, 10**12, ""), self.job.passes[p]
        for m, machine in enumerate(self.line.machines):
            busy, above = {}, {}
            for k, (at, head) in enumerate(self.heads):
                if at == m:
                    seconds, over = self.work(k, machine.timing, p)
                    busy[head.gantry] = busy.get(head.gantry, 0) + seconds
                    above[head.gantry] = above.get(head.gantry, 0) + over
            loads = [*busy.values(), *([sum(above.values())] if len(above) > 1 else [])]
            marks, transfer = micro(machine.timing.fiducial) * board.marks, micro(machine.timing.board_transfer)
            both = machine.board.lanes == 2 and board.width.high <= machine.board.max_dual_lane_width
            for load in loads:
                self.model.add(cycle >= marks + load + (0 if both else transfer))
                self.model.add(2 * cycle >= marks + load + transfer)
        return cycle

    def work(self, k, timing, p):
        head, model = self.heads[k][1], self.model
        mine = [(j, n) for (j, at, q), n in self.number.items() if (at, q) == (k, p)]
        number, trips, changes = sum(n for _, n in mine), model.new_int_var(0, 999, ""), model.new_int_var(0, 9, "")
        model.add_linear_constraint(head.nozzles * trips - number, 0, head.nozzles - 1)
        kinds = {}
        for j, n in mine:
            kind = kinds.setdefault(self.job.parts[j].nozzle, model.new_bool_var(""))
            model.add(n == 0).only_enforce_if(~kind)
        model.add(changes >= sum(kinds.values()) - head.nozzles)
        parts, feeders = move(timing.travel_between_parts, timing), move(timing.travel_between_feeders, timing)
        from_trays = sum(n for j, n in mine if self.job.parts[j].supply == "tray")
        over = number * micro(timing.place) + (number - trips) * parts
        each = number * micro(timing.pick) + (number - trips) * feeders + from_trays * micro(timing.tray)
        ways = trips * (micro(timing.vision) + 2 * move(timing.travel_to_board, timing))
        return over + each + ways + changes * micro(timing.nozzle_change), over


def least_cycle(line, job, can, *, split, proved):
    """Return the least mean of the passes' cycles by yearly quantity, in seconds; None where nothing fits."""
    question = Question(line, job, can, split=split, proved=proved)
    yearly = [int(p.per_year) for p in job.passes]
    question.model.minimize(sum(n * question.cycle(p) for p, n in enumerate(yearly)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(question.model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.objective_value / MICRO / sum(yearly) if status == cp_model.OPTIMAL else None
