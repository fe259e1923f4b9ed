"""Works every figure of a plan out anew from its JSON alone: cycle, loads, places, hours, cost.

It knows nothing of the program, only the formulas that the schema states. Null as an upper end is without bound.

Figures: sums by hand.
"""

import math

# Definitions: seconds of an hour, a thousand, square metres of a square millimetre.
HOUR, THOUSAND, SQUARE_METRE = 3600, 1000, 1e-6
# Arithmetic: sums of what is written with six digits behind the point.
ROUNDED = 2e-5


def ends(value):
    low, high = value
    return low, math.inf if high is None else high


def scaled(value, factor):
    low, high = ends(value)
    return low * factor, high * factor


def times(one, other):
    (a, b), (c, d) = ends(one), ends(other)
    return a * c, 0.0 if 0 in (b, d) else b * d


def over(one, other):
    (a, b), (c, d) = ends(one), ends(other)
    return a / d if math.isfinite(d) else 0.0, math.inf if c == 0 or math.isinf(b) else b / c


def added(values):
    pairs = [ends(v) for v in values]
    return sum(p[0] for p in pairs), sum(p[1] for p in pairs)


def near(found, told):
    """Whether two figures, or the ends of both, are the same to the digits that are written."""
    if told is None or found is None:
        return told is found
    if isinstance(told, bool):
        return found is told
    if isinstance(told, (int, float)):
        return math.isclose(found, told, rel_tol=ROUNDED, abs_tol=ROUNDED)
    return all(
        a == b or math.isclose(a, b, rel_tol=ROUNDED, abs_tol=ROUNDED)
        for a, b in zip(ends(found), ends(told), strict=True)
    )


def placing(gantries):
    for gantry in gantries:
        terms = [t for head in gantry["heads"] for t in head["sum"]]
        yield "gantry", sum(t["count"] * t["seconds_each"] for t in terms), gantry["seconds"]
    longest = max((g["seconds"] for g in gantries), default=0.0)
    return max(longest, sum(g["over_board_s"] for g in gantries)) if len(gantries) > 1 else longest


def whole(transfer, fiducials, placed, *, hidden):
    if hidden:
        return max(fiducials + placed, (transfer + fiducials + placed) / 2)
    return transfer + fiducials + placed


def machine(time):
    """Yield what a machine's time comes to from its terms, at both ends and as planned."""
    transfer, marks, *stop = (t["count"] * t["seconds_each"] for t in time["sum"])
    slow = transfer, marks + sum(stop)
    fast = time["fast"]["transfer_s"], marks + time["fast"]["second_stop_s"]
    seconds = []
    for end, fixed in ((time, slow), (time["fast"], fast), (time["slow"], slow)):
        placed = yield from placing(end["gantries"])
        yield "placing", placed, end["placing_s"]
        seconds.append(whole(*fixed, placed, hidden=end["transfer_hidden"]))
    planned, fast, slow = seconds
    yield "planned", planned, time["planned_s"]
    yield "seconds", (min(fast, planned), math.inf if time["not_stated"] else slow), time["seconds_s"]


def loads(plan, set_up, place, times_here):
    """Yield placements of machines and heads against those of the feeders, and trips against nozzles."""
    for time in times_here["machines"]:
        mine = [f for f in set_up["feeders"] if f["machine"] == time["machine"]]
        yield "load", sum(f["placements"][place] for f in mine), time["placements"]
        (device,) = (d for d in plan["line"]["devices"] if d["name"] == time["machine"])
        nozzles = {h["name"]: h["nozzles"] for h in device["heads"]}
        for gantry in time["gantries"]:
            for head in gantry["heads"]:
                counts = {t["name"]: t["count"] for t in head["sum"]}
                if "place" in counts:
                    trips = math.ceil(counts["place"] / nozzles[head["head"]])
                    yield "trips", trips, counts["vision"]
                    yield "ways", 2 * trips, counts["travel to the board and back"]


def set_ups(plan):
    for set_up in plan["set_ups"]:
        for place, (figures, here) in enumerate(zip(set_up["figures"], set_up["times"], strict=True)):
            for time in here["machines"]:
                yield from machine(time)
            yield from loads(plan, set_up, place, here)
            stations = figures["stations"]
            high = math.inf if figures["untimed"] else max(ends(s["seconds_s"])[1] for s in stations)
            yield "cycle", (max(s["seconds_s"][0] for s in stations), high), figures["cycle_s"]
            yield "planned cycle", max(s["planned_s"] for s in stations), figures["planned_s"]
            machines = [s["planned_s"] for s in stations if s["places"]]
            yield "balance", sum(machines) / len(machines) / max(machines), figures["balance_efficiency"]
            (pieces,) = {
                p["boards_per_panel"] for p in plan["boards"] if f"{p['board']}, {p['side']}" == figures["board"]
            }
            yield "rate", over((HOUR * pieces,) * 2, figures["cycle_s"]), figures["boards_per_hour"]
            for feeder in set_up["feeders"]:
                there, placed = feeder["parts_per_container"], feeder["placements"][place]
                lasts = (
                    there * THOUSAND / (placed * (THOUSAND + feeder["lost_per_thousand"])) if there and placed else None
                )
                told = feeder["boards_between_refills"][place]
                yield "refill", None if lasts is None else lasts * pieces, told
        steps, weights = set_up["slowest_machine_s"], set_up["weights"]
        mean = {key: sum(w * s for w, s in zip(weights, each, strict=True)) for key, each in steps.items()}
        yield "objective", mean["fastest_plan"], set_up["objective"]["value"]
        price = max(0.0, mean["with_fewest_feeders"] - mean["fastest_plan"])
        yield "price of feeders", price, set_up["feeders_price_s"]
        back = max(0.0, mean["with_fewest_feeders"] - mean["balanced_again"])
        yield "balance brings", back, set_up["balance_brings_s"]
        for at in set_up["places"]:
            mine = [f for f in set_up["feeders"] if (f["machine"], f["bank"]) == (at["machine"], at["bank"])]
            unit = [at["tray_unit_slots"] if end else 0 for end in ends(at["trays_needed"])]
            yield "slots", added([*(f["slots"] for f in mine), unit]), at["slots_needed"]


def line(plan):
    devices = plan["line"]["devices"]
    shares = [d["uptime"] for d in devices]
    if plan["uptime_stated"] is not None:
        yield "uptime", (plan["uptime_stated"],) * 2, plan["uptime"]
    elif None not in shares:
        yield "uptime", (math.prod(shares), min(shares)), plan["uptime"]
    benches = [b["length_mm"] for b in plan["line"]["benches"] if b["length_mm"] is not None]
    lengths = [d["length_mm"] for d in devices] + [s["length_mm"] for s in plan["line"]["stations"]] + benches
    if None not in lengths:
        yield "length", sum(lengths), plan["floor"]["length_mm"]
        yield (
            "area",
            sum(d["length_mm"] * d["depth_mm"] for d in devices) * SQUARE_METRE,
            plan["floor"]["machine_area_m2"],
        )


def boards(plan):
    cycles = {f["board"]: f["cycle_s"] for s in plan["set_ups"] for f in s["figures"]}
    for board in plan["finished_boards"]:
        mine = [p for p in plan["boards"] if p["board"] == board["board"]]
        seconds = added(cycles[f"{p['board']}, {p['side']}"] for p in mine)
        yield "seconds of the line", seconds, board["line_seconds_s"]
        yield "each board", scaled(seconds, 1 / mine[0]["boards_per_panel"]), board["line_seconds_per_board_s"]
        yield "boards an hour", over((HOUR * mine[0]["boards_per_panel"],) * 2, seconds), board["boards_per_hour"]
    demand = plan["demand"]
    if demand is None:
        return
    hours, share = demand["scheduled_hours_per_year"], plan["uptime"] or (1.0, 1.0)
    yearly = sum(p["per_year"] for p in plan["boards"])
    yield "takt", hours * HOUR * share[0] / yearly, demand["takt_s"]
    needed = added(scaled(cycles[f"{p['board']}, {p['side']}"], p["per_year"] / HOUR) for p in plan["boards"])
    yield "hours needed", needed, demand["running_hours_needed"]
    stands = added(scaled(times(s["batches"], s["seconds"]), 1 / HOUR) for s in demand["set_ups"])
    low, high = ((hours - stands[1]) * share[0], (hours - stands[0]) * share[1])
    yield "hours available", (max(low, 0.0), max(high, 0.0)), demand["running_hours_available"]
    if demand["set_ups"]:
        yield "hours of set-ups", stands, demand["set_up_hours"]


def _term(cost, term):
    figures, hour = term["figures"], 1 / HOUR
    if term["kind"] == "set-up":
        parts = [scaled(times(figures["line_hour"], figures["stands"]), hour)] if "stands" in figures else []
        parts += [scaled(times(figures["people_hour"], figures["work"]), hour)] if "work" in figures else []
        parts += [figures["fixed"]] if "fixed" in figures else []
        return over(added(parts), cost["batch"])
    amount = scaled(times(figures["rate"], figures["seconds"]), hour)
    return times(figures["number"], amount) if term["kind"] == "operators" else amount


def line_stands(work, board, feeder, cart):
    each = (0.0, 0.0) if work["feeders_beside"] else scaled(feeder, 1 / work["people"])
    if work["at_best"] is None:
        return added(
            [scaled(board, work["sides"]), times(work["feeders_one_by_one"], each), times(work["carts"], cart)]
        )
    return tuple(
        ends(board)[end] * work["sides"] + way["feeders_one_by_one"] * each[end] + way["carts"] * ends(cart)[end]
        for end, way in enumerate((work["at_best"], work["at_worst"]))
    )


def costs(plan):
    seconds = {b["board"]: b["line_seconds_per_board_s"] for b in plan["finished_boards"]}
    for cost in plan["costs"]:
        yield "time of the line", seconds[cost["board"]], cost["line_s"]
        yield "with stops", over(cost["line_s"], cost["uptime"]), cost["occupied_s"]
        for term in cost["terms"]:
            yield f"cost of {term['kind']}", _term(cost, term), term["amount"]
            if term["kind"] == "machines":
                yield "rate of the line", added(r["rate"] for r in cost["hourly_rates"]), term["figures"]["rate"]
                yield "seconds of machines", cost["occupied_s"], term["figures"]["seconds"]
        made = added(t["amount"] for t in cost["terms"])
        yield "cost of a board", made, cost["per_board_made"]
        yield "cost of a good board", over(made, cost["good"]), cost["per_good_board"]
        work, nothing = cost["set_up"], (0.0, 0.0)
        board, feeder = (work[key] or nothing for key in ("board_s", "feeder_s"))
        cart = work["cart_s"] or nothing
        yield "line stands", line_stands(work, board, feeder, cart), work["line_stands_s"]
        carts, stands = times(work["carts"], cart), work["line_stands_s"]
        hands = [scaled(board, work["sides"] * work["people"]), times(work["feeders"], feeder)]
        yield "work of a set-up", added([*hands, scaled(carts, work["people"])]), work["work_s"]
        shift = over(scaled(cost["shift_hours"], HOUR), added([cost["occupied_s"], over(stands, cost["batch"])]))
        yield "boards of a shift", times(shift, cost["good"]), cost["boards_per_shift"]


def refills(plan):
    people = {c["board"]: c["refill_minutes"] for c in plan["costs"]}
    for told in plan["refills"]:
        (at,) = ((s, k) for s in plan["set_ups"] for k, f in enumerate(s["figures"]) if f["board"] == told["board"])
        set_up, place = at
        each = [f["boards_between_refills"][place] for f in set_up["feeders"]]
        known = scaled(set_up["figures"][place]["boards_per_hour"], sum(1 / n for n in each if n))
        yield "refills", known, told["per_hour_of_known_containers"]
        minutes = next((m for board, m in people.items() if told["board"].startswith(f"{board}, ")), None)
        if minutes is not None and not told["containers_not_known"]:
            yield "people for refills", scaled(times(known, minutes), 1 / 60), told["people"]
    for bench in plan["benches"]:
        if bench["seconds_each"] is not None:
            yield "bench", scaled(bench["placements"], bench["seconds_each"] / bench["people"]), bench["seconds"]


def redone(plan):
    """Yield the name of each figure, what it comes to, and what the plan says."""
    for part in (set_ups, line, boards, costs, refills):
        yield from part(plan)
