"""A run's value-change dump, read by this parser, by GTKWave's vcd2fst and by sigrok-cli, against the run's record."""
import os
import re

from readers import call, check, drybus, folder, identifier, need, read_record, scenario

need("vcd2fst", "fst2vcd", "sigrok-cli")


class Dump:
    """Every variable's changes: {name: [(microsecond, value)]}, bits joined; x and z stay letters."""

    def __init__(self, path):
        self.changes = {}
        self.end = 0
        bits, now = {}, {}
        with open(path, encoding="ascii") as text:
            words = iter(text.read().split())
        for word in words:
            if word == "$var":
                kind, size, code = next(words), next(words), next(words)
                name = next(words)
                check((kind, size) == ("wire", "1"), f"a variable of kind {kind} with {size} bits")
                index = next(words)
                name += "" if index == "$end" else index
                found = re.fullmatch(r"(\w+)(?:\[(\d+)\])?", name)
                check(found and code not in bits, f"variable {name}, code {code}")
                bits[code] = (found[1], int(found[2] or 0))
            if word == "$timescale":
                check(next(words) + next(words) in ("1us", "1us$end"), "another time scale than 1 us")
            if word == "$enddefinitions":
                break
        for word in words:
            if word[0] == "#":
                check(int(word[1:]) >= self.end, f"time runs back at {word}")
                self.end = int(word[1:])
            elif word[0] in "01xz":
                name, index = bits[word[1:]]
                now.setdefault(name, {})[index] = word[0]
                self._note(name, now[name])
        check({name for name, _ in bits.values()} == set(self.changes), "variables without a first value")

    def _note(self, name, value_bits):
        letters = [value_bits[index] for index in value_bits]
        value = letters[0] if set(letters) & set("xz") else sum(int(bit) << index for index, bit in value_bits.items())
        series = self.changes.setdefault(name, [])
        if series and series[-1][0] == self.end:
            series.pop()
        if not series or series[-1][1] != value:
            series.append((self.end, value))

    def at(self, name, microsecond):
        value = None
        for time, fresh in self.changes[name]:
            if time > microsecond:
                break
            value = fresh
        return value


def told_by_record(record):
    """{(variable, microsecond): value} for whatever the record says outright; the last word of a microsecond counts."""
    facts, sending = {}, {}
    for entry in record:
        microsecond, who = entry["at_ns"] // 1000, identifier(entry["who"])
        kind, a, b = entry["kind"], entry["a"], entry["b"]

        def fact(suffix, value):
            facts[(f"{who}_{suffix}", microsecond)] = value

        if kind in ("mode", "indicator", "channel", "power"):
            fact(kind, a)
            if kind == "mode" and a == 0:  # a plate that leaves setup is at channel 0 again
                facts.pop((f"{who}_channel", microsecond), None)
        elif kind == "power-up":
            fact("power_up", a)
        elif kind == "stored":
            fact("site", a & 255), fact("zone", a >> 8 & 255), fact("channel", a >> 16 & 255)
        elif kind == "level":
            fact("level", a & 0xFFFF if b else a >> 16)
        elif kind == "level-reached":
            fact("level", a)
        elif kind in ("sent", "sent-whole"):
            sending.pop(who, None)
            if kind == "sent":
                sending[who] = b & 255
            facts[("bus_busy", microsecond)] = int(len(sending) > 0)
            facts[("bus_telegram", microsecond)] = "x" if len(sending) > 1 else next(iter(sending.values()), "z")
    return facts


def check_against_record(dump, record, name):
    facts = told_by_record(record)
    check(len(facts) > 10, f"{name}: the record says too little")
    for (variable, microsecond), value in facts.items():
        shown = dump.at(variable, microsecond)
        check(shown == value, f"{name}: {variable} at {microsecond} us is {shown}, the record says {value}")
    # And the other way round: nothing changes that the record does not tell of.
    for variable, series in dump.changes.items():
        if re.search(r"_(mode|indicator|busy)$", variable):
            for microsecond, value in series[1:]:
                check(facts.get((variable, microsecond)) == value, f"{name}: {variable} changes at {microsecond} us")
    check(dump.end == record[-1]["at_ns"] // 1000, f"{name}: ends at {dump.end} us")
    return len(facts)


def check_gtkwave(path, dump, name):
    fst, back = path + ".fst", path + ".back"
    call(["vcd2fst", path, fst])
    call(["fst2vcd", "-f", fst, "-o", back])
    again = Dump(back)
    check(again.changes == dump.changes, f"{name}: vcd2fst read other values")


def check_sigrok(path, dump, name):
    wanted = [v for v in dump.changes if re.search(r"_(mode|power|busy)$", v)]
    csv = call(["sigrok-cli", "-I", "vcd:downsample=1000", "-i", path, "-C", ",".join(wanted), "-O", "csv"])
    lines = [line for line in csv.splitlines() if line and not line.startswith(";")]
    named = re.search(r"^; Channels \(.*\): (.*)$", csv, re.M)[1].split(", ")
    check(sorted(named) == sorted(wanted), f"{name}: sigrok-cli found the channels {named}")
    samples = [line.split(",") for line in lines if re.fullmatch(r"[01](,[01])*", line)]
    check(len(samples) == dump.end // 1000, f"{name}: sigrok-cli read {len(samples)} ms of {dump.end // 1000}")
    for column, variable in enumerate(named):
        series = dump.changes[variable] + [(dump.end + 1000, None)]
        step = 0
        for ms, sample in enumerate(samples):
            while series[step + 1][0] // 1000 <= ms:
                step += 1
            check(int(sample[column]) == series[step][1], f"{name}: sigrok-cli has {variable} otherwise at {ms} ms")
    return len(samples)


total = samples = 0
with folder() as here:
    for name in ("setup-split", "telegram-lost", "first-steps", "write-lost", "two-plates-in-setup"):
        path, record = os.path.join(here, name + ".vcd"), os.path.join(here, name + ".jsonl")
        drybus("run", scenario(name), "-q", "--vcd", path, "--record", record)
        dump = Dump(path)
        total += check_against_record(dump, read_record(record), name)
        check_gtkwave(path, dump, name)
        samples += check_sigrok(path, dump, name)
print(f"{total} values of five dumps are as recorded; vcd2fst and sigrok-cli ({samples} samples) read them alike")
