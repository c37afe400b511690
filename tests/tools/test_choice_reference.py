#!/usr/bin/python3
"""Holds `test-choice` against every world, every result, every set of tests and every order of testing.

Small random questions are answered here by going through all hidden states one by one, from the words of docs/calc.md and
sharing no code with the program: what is done plain is decided world by world and result by result, never by a formula for
the whole job.

    test_choice_reference.py path/to/calc_driver
"""
import functools
import itertools
import json
import subprocess
import sys

import numpy

FOLLOWS = {"same piece": 1.0, "same job and look": 0.95, "same look": 0.75, "same kind": 0.3}
QUESTIONS = 1200


def random_question(rng):
    materials, groups = [], []
    for g in range(rng.integers(0, 3)):
        group = {"id": f"G{g}"}
        if g and rng.random() < 0.7:
            group |= {"group": "G0", "alike": str(rng.choice(list(FOLLOWS)))}
        groups.append(group)
    for m in range(rng.integers(1, 5)):
        one = {"id": f"M{m}", "probability": float(rng.choice([0, 1, *rng.random(8)]))}
        if groups and rng.random() < 0.8:
            one |= {"group": f"G{rng.integers(len(groups))}", "alike": str(rng.choice(list(FOLLOWS)))}
        materials.append(one)
    jobs = []
    for j in range(rng.integers(1, 5)):
        touches = [m["id"] for m in materials if rng.random() < 0.5]
        # Small whole numbers on purpose: ties have to be broken, and plain is sometimes dearer.
        job = {"id": f"J{j}", "touches": touches, "cost_plain": int(rng.integers(0, 40)), "cost_as_asbestos": int(rng.integers(10, 120))}
        if rng.random() < 0.4:
            job["cost_elsewhere"] = int(rng.integers(5, 120))
        jobs.append(job)
    test = {"fixed": int(rng.integers(0, 8)), "each": int(rng.integers(0, 15))}
    if rng.random() < 0.4:
        test |= {"sensitivity": float(rng.uniform(0.5, 1)), "specificity": float(rng.uniform(0.7, 1))}
    question = {"materials": materials, "groups": groups, "jobs": jobs, "test": test}
    if rng.random() < 0.25:
        question["budget"] = int(rng.integers(0, 50))
    return question


def worlds(question):
    """Every joint state of the materials (tuples of 0 and 1) with its probability."""
    groups, materials = question["groups"], question["materials"]

    def members(g):
        return [m["probability"] for m in materials if m.get("group") == g["id"]] + [
            value for c in groups if c.get("group") == g["id"] for value in [mean(c)] if value is not None]

    def mean(g):
        inner = members(g)
        return sum(inner) / len(inner) if inner else None

    things = groups + materials
    own = [mean(g) if mean(g) is not None else 0.5 for g in groups] + [m["probability"] for m in materials]
    place = {g["id"]: i for i, g in enumerate(groups)}
    total = {}
    for state in itertools.product((0, 1), repeat=len(things)):
        p = 1.0
        for i, thing in enumerate(things):
            drawn = own[i] if state[i] else 1 - own[i]
            if "group" in thing:
                r = FOLLOWS[thing["alike"]]
                drawn = (r if state[i] == state[place[thing["group"]]] else 0) + (1 - r) * drawn
            p *= drawn
        key = state[len(groups):]
        total[key] = total.get(key, 0) + p
    return total


def pieces_of(question):
    names = {thing["id"]: thing["id"] for thing in question["materials"] + question["groups"]}
    changed = True
    while changed:
        changed = False
        for thing in question["materials"] + question["groups"]:
            if thing.get("alike") == "same piece":
                low = min(names[thing["id"]], names[thing["group"]])
                for name in (thing["id"], thing["group"]):
                    changed |= names[name] != low
                    names[name] = low
    return [names[m["id"]] for m in question["materials"]]


class Truth:
    def __init__(self, question):
        self.q = question
        self.worlds = worlds(question)
        self.ids = [m["id"] for m in question["materials"]]
        self.pieces = pieces_of(question)
        self.free = [m["probability"] == 0 and "group" not in m for m in question["materials"]]
        self.s = question["test"].get("sensitivity", 1.0)
        self.c = question["test"].get("specificity", 1.0)
        self.fixed, self.each = question["test"]["fixed"], question["test"]["each"]

    def jobs_cost(self, results):
        """All jobs, given results {material index: clear?}; a find on a piece outweighs a clear result of it."""
        cost = 0
        for job in self.q["jobs"]:
            other = min(job["cost_as_asbestos"], job.get("cost_elsewhere", float("inf")))
            plain = True
            for name in job["touches"]:
                m = self.ids.index(name)
                said = [clear for i, clear in results.items() if self.pieces[i] == self.pieces[m]]
                plain &= self.free[m] or (bool(said) and all(said))
            cost += min(job["cost_plain"], other) if plain else other
        return cost

    def chance(self, state, results):
        p = 1.0
        for i, clear in results.items():
            p_clear = 1 - self.s if state[i] else self.c
            p *= p_clear if clear else 1 - p_clear
        return p

    def cost_of(self, tests):
        cost = self.fixed * bool(tests) + self.each * len(tests)
        for outcome in itertools.product((True, False), repeat=len(tests)):
            results = dict(zip(tests, outcome))
            p = sum(w * self.chance(state, results) for state, w in self.worlds.items())
            cost += p * self.jobs_cost(results)
        return cost

    def known_for_nothing(self):
        cost = 0
        for state, w in self.worlds.items():
            for job in self.q["jobs"]:
                other = min(job["cost_as_asbestos"], job.get("cost_elsewhere", float("inf")))
                clean = not any(state[self.ids.index(name)] for name in job["touches"])
                cost += w * (min(job["cost_plain"], other) if clean else other)
        return cost

    def policy(self):
        """The least expected cost when each test may wait for the results before it."""
        budget = self.q.get("budget", float("inf"))

        @functools.cache
        def value(known):
            """Times the probability of what is known."""
            results = dict(known)
            p = sum(w * self.chance(state, results) for state, w in self.worlds.items())
            best = p * self.jobs_cost(results)
            paid = self.fixed + self.each * (len(results) + 1)
            if paid > budget:
                return best
            for i in range(len(self.ids)):
                if i in results:
                    continue
                step = p * (self.each + (0 if results else self.fixed))
                step += sum(value(tuple(sorted({**results, i: clear}.items()))) for clear in (True, False))
                best = min(best, step)
            return best

        return value(())


def main():
    driver = sys.argv[1]
    rng = numpy.random.default_rng(20)
    questions = [random_question(rng) for _ in range(QUESTIONS)]
    run = subprocess.run([driver, "test-choice"], input=json.dumps(questions), capture_output=True, text=True, check=True)
    bad = []
    adaptive, tested, imperfect, worst = 0, 0, 0, 0
    for number, (question, answer) in enumerate(zip(questions, json.loads(run.stdout), strict=True)):
        truth = Truth(question)
        budget = question.get("budget", float("inf"))
        everything = range(len(truth.ids))
        sets = [tests for n in range(len(truth.ids) + 1) for tests in itertools.combinations(everything, n)
                if truth.fixed * bool(tests) + truth.each * len(tests) <= budget]
        costs = {tests: truth.cost_of(tests) for tests in sets}
        best = min(costs.values())
        fewest = min(len(tests) for tests, cost in costs.items() if cost <= best + 1e-9)

        def same(what, got, expected):
            nonlocal worst
            worst = max(worst, abs(got - expected) / max(1, abs(expected)))
            if abs(got - expected) > 1e-7 * max(1, abs(expected)):
                bad.append(f"question {number}: {what} answered {got!r}, counted {expected!r}\n  {json.dumps(question)}")

        chosen = tuple(sorted(truth.ids.index(name) for name in answer["tests"]))
        same("cost_now", answer["cost_now"], costs[()])
        same("cost_best", answer["cost_best"], best)
        same("the cost of the tests named", costs.get(chosen, float("inf")), best)
        same("the number of tests", len(answer["tests"]), fewest)
        same("cost_with_perfect_information", answer["cost_with_perfect_information"], truth.known_for_nothing())
        same("exact", answer["exact"], True)
        same("gap", answer["gap"], 0)
        for point in answer["curve"]:
            tests = tuple(sorted(truth.ids.index(name) for name in point["tests"]))
            same(f"the curve at {tests}", point["expected_cost"], costs.get(tests, float("inf")))
            same(f"the best of {len(tests)}", point["expected_cost"], min(c for t, c in costs.items() if len(t) == len(tests)))
        policy = truth.policy()
        same("policy.expected_cost", answer["policy"]["expected_cost"], policy)
        adaptive += policy < best - 1e-6
        tested += bool(chosen)
        imperfect += bool(chosen) and truth.s < 1
        if truth.s == 1 and truth.c == 1:
            if answer["cost_best"] < answer["cost_with_perfect_information"] - 1e-7:
                bad.append(f"question {number}: better than knowing everything")
    print(f"{QUESTIONS} questions: {tested} with tests worth paying for, {imperfect} of them by tests that miss, {adaptive} better in rounds")
    for line in bad[:10]:
        print(line)
    print(f"agreement_sampling_program {QUESTIONS} {worst:.2g} {worst / 1e-7:.2g}")
    print(f"{len(bad)} faults")
    return 1 if bad or min(tested - 200, adaptive - 100, imperfect - 50) < 0 else 0


if __name__ == "__main__":
    sys.exit(main())
