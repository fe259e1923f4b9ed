"""The least cycle of a line with feeder banks by CP-SAT: every feeder is put on numbered slots, none on another's.

Written from what a machine profile says of banks, not from the numbers that the project solves: a feeder stands in one
bank on as many neighbouring slots as its tape takes; a tray unit, once a tray is offered there, covers the slots it is
said to cover; a head picks from every bank that it reaches. Times are whole microseconds.

Figures: invented, bounds far above what the random instances need.
"""

from ortools.sat.python import cp_model

MICRO = 1_000_000


def micro(seconds):
    return round(seconds * MICRO)


class Question:
    """Where feeders stand, and how many of each part every head picks from each bank."""

    def __init__(self, line, job, can, times, fixed):
        self.line, self.job, self.can, self.times, self.fixed = line, job, can, times, fixed
        self.model = cp_model.CpModel()
        self.stands, self.number = {}, {}
        self.banks = [(m, b) for m, machine in enumerate(line.machines) for b in range(len(machine.bank))]
        for m, b in self.banks:
            self.feeders_stand_beside_one_another(m, b)
        for j, part in enumerate(job.parts):
            self.every_placement_is_picked(j, part)

    def bank(self, m, b):
        return self.line.machines[m].bank[b]

    def span(self, m, b):
        """Return the numbers of a bank's first slot and of the first behind it."""
        first = 1
        for bank in self.line.machines[m].bank[: b + 1]:
            first = bank.first_slot or first
            begun, first = first, first + bank.slots
        return begun, first

    def heads(self, m, b):
        before = sum(len(machine.head) for machine in self.line.machines[:m])
        bank = self.bank(m, b)
        for k, head in enumerate(self.line.machines[m].head):
            if bank.heads is not None and head.name not in bank.heads:
                continue
            if bank.gantries is not None and head.gantry not in bank.gantries:
                continue
            yield before + k

    def width(self, m, part):
        return int(self.line.machines[m].feeders.slots_used[f"{part.tape_width.high:g} mm"])

    def feeders_stand_beside_one_another(self, m, b):
        bank, (first, behind) = self.bank(m, b), self.span(m, b)
        model, taken, trays = self.model, [], []
        mounted = model.new_bool_var("")
        if bank.tray_covers:
            low, high = bank.tray_covers
            taken.append(model.new_optional_fixed_size_interval_var(low, high + 1 - low, mounted, ""))
        for j, part in enumerate(self.job.parts):
            there = self.stands[j, m, b] = model.new_bool_var("")
            if part.supply == "tray":
                trays.append(there)
                model.add_implication(there, mounted)
                continue
            slots = self.width(m, part)
            too_wide = bank.max_tape_width is not None and part.tape_width.high > bank.max_tape_width
            if too_wide or slots > behind - first:
                model.add(there == 0)
                continue
            at = model.new_int_var(first, behind - slots, "")
            taken.append(model.new_optional_fixed_size_interval_var(at, slots, there, ""))
        model.add_no_overlap(taken)
        model.add(sum(trays) <= (bank.tray_places or 0))

    def every_placement_is_picked(self, j, part):
        for p, count in enumerate(part.counts):
            every = []
            for m, b in self.banks:
                for h in self.heads(m, b):
                    if self.can[j, h] > 0:
                        n = self.number[j, h, b, p] = self.model.new_int_var(0, count, "")
                        self.model.add(n == 0).only_enforce_if(~self.stands[j, m, b])
                        every.append(n)
            self.model.add(sum(every) == count)

    def all_in_one_place(self):
        for j in range(len(self.job.parts)):
            self.model.add(sum(self.stands[j, m, b] for m, b in self.banks) <= 1)

    def cycle(self, p):
        cycle = self.model.new_int_var(0, 10**12, "")
        begun = 0
        for m, machine in enumerate(self.line.machines):
            own = range(begun, begun + len(machine.head))
            begun += len(machine.head)
            gantries = sorted({machine.head[h - own[0]].gantry for h in own})
            works = [[h for h in own if machine.head[h - own[0]].gantry == g] for g in gantries]
            loads = [self.work(heads, p) for heads in works]
            for busy, _ in loads:
                self.model.add(cycle >= micro(self.fixed[m, p]) + busy)
            if len(loads) > 1:
                self.model.add(cycle >= micro(self.fixed[m, p]) + sum(above for _, above in loads))
        return cycle

    def work(self, heads, p):
        busy = above = 0
        for h in heads:
            times = self.times[h]
            mine = [(j, n) for (j, head, _, q), n in self.number.items() if (head, q) == (h, p)]
            trays = [part.supply == "tray" for part in self.job.parts]
            busy += sum(micro(times.each(from_tray=trays[j])) * n for j, n in mine)
            above += sum(micro(times.over_board) * n for _, n in mine)
            trips = self.model.new_int_var(0, 10**4, "")
            left = times.per_trip * trips - sum(n for _, n in mine)
            self.model.add_linear_constraint(left, 0, times.per_trip - 1)
            busy += micro(times.trip) * trips
            above += micro(times.trip_over_board) * trips
        return busy, above


def least(model, sums):
    """Return the least value of a sum, None where nothing fits."""
    model.minimize(sums)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.objective_value if status == cp_model.OPTIMAL else None


def least_cycle(line, job, can, times, fixed, *, split=True):
    """Return the least sum of the passes' cycles in seconds, None where nothing fits."""
    question = Question(line, job, can, times, fixed)
    if not split:
        question.all_in_one_place()
    found = least(question.model, sum(question.cycle(p) for p in range(len(job.passes))))
    return None if found is None else found / MICRO
