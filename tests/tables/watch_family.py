"""Writes a scenario that goes through all that a family's tables say and watches closely: just before and just after each
change of any device, as the program has it now. `check --mutants` shows what it notices.

  tests/tables/watch_family.py FAMILY > scenarios/regression/tables-FAMILY.yaml      from the project's root

It is a record of how the devices behave today: read what has changed in it before you keep it.
"""

import collections
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import yaml

PROGRAM = "build/drybus"
HAND = 0.3  # s, that a step with a switch takes
MARGIN_MS = 2  # so close to a change somebody looks
EACH_CHANGE = 1  # in each part: how often one kind of change of one device is looked at, from the first on


def seconds(text):
    number, unit = re.fullmatch(r"\s*([\d.]+)\s*(\w+)\s*", str(text)).groups()
    return float(number) * {"us": 1e-6, "ms": 1e-3, "s": 1, "min": 60, "h": 3600}[unit]


def time(value):
    return f"{round(value * 1000) / 1000:g}s" if value < 1000 else f"{round(value * 1000)}ms"


class Exercise:
    """The installer's steps, in YAML."""

    def __init__(self, name):
        text = pathlib.Path(f"scenarios/families/{name}.yaml").read_text()
        family = yaml.load(text, yaml.BaseLoader)
        self.offers_zone_0 = "refuse zone 0" not in text
        self.name, self.plate, self.module, self.indicator = name, family["plate"], family["module"], family["indicator"]
        self.setup = self.plate["setup"]
        self.button = self.module.get("button")
        self.confirms, self.asks = "confirm" in self.module, "ask" in self.module
        dials = "dials" in self.plate["site_switches"]
        self.site = 23 if dials or int(self.plate["site_switches"]["binary"]) > 5 else 9
        self.steps = []

    def step(self, text, **more):
        self.steps.append(f"  - {{{', '.join([text] + [f'{key}: {value}' for key, value in more.items()])}}}")

    def part(self):
        self.parts.append(len(self.steps))

    def wait(self, value):
        self.step(f"wait: {time(value)}")

    def press(self, what, pause=2.0):
        self.step(f"press: {what}")
        if pause:
            self.wait(pause)

    def hold(self, what, value, pause=2.0):
        self.step(f"hold: {what}", **{"for": time(value)})
        if pause:
            self.wait(pause)

    def device_yaml(self):
        site, other = self.site, self.site - 1
        factory = int(self.module["factory"]["site"])
        assert factory not in (site, other), "another site number is needed for this family"
        last = int(self.plate["channels"])
        # M2 stands at the last channel, so that the plate's way up ends at it.
        return f"""site:
  plates:
    P1: {{label: Plate, switches: {{site: {site}, zone: 3}}}}
    P2: {{label: Another zone's, switches: {{site: {site}, zone: 2}}}}
    P3: {{label: Another site's, switches: {{site: {other}, zone: 3}}}}
    P4: {{label: As from the factory, switches: {{site: {factory}, zone: 3}}}}
  modules:
    M1: {{label: New one}}
    M2: {{label: Comes on in full, stored: {site}/3/{last}, power_up: full}}
    M3: {{label: Comes on as it was, stored: {site}/3/1, power_up: last, last_level: 40%}}
    M4: {{label: Another zone's, stored: {site}/2/1, power_up: full}}
    M5: {{label: Another site's, stored: {other}/3/1, power_up: last, last_level: 70%}}
    M6: {{label: Comes on dark, stored: {site}/3/5, power_up: off}}
""" + self.other_groups()

    def other_groups(self):
        """For keys that speak for more than a zone: the zone after P1's, and the first of the next group."""
        if "group" not in self.module:
            return ""
        group = int(self.module["group"])
        return f"""    M7: {{label: The zone after it, stored: {self.site}/4/1, power_up: full}}
    M8: {{label: Another group's, stored: {self.site}/{group + 1}/1, power_up: full}}
"""

    # --- what people do ---

    def into_setup(self, plate, value=None, pause=2.0):
        self.hold(f"{plate} {self.setup['hold']}", value or seconds(self.setup["for"]) * 1.2, pause)

    def module_into_setup(self, module, pause=1.0):
        if self.button:
            self.hold(f"{module} {self.button}", seconds(self.module["setup"]["for"]) * 1.2, pause)
            return
        gesture = self.module["setup"]["supply"]
        for _ in range(int(gesture["times"])):
            self.step(f"power: {{{module}: off}}")
            self.wait(0.4)
            self.step(f"power: {{{module}: on}}")
            self.wait(0.4)
        self.wait(pause)

    def leave(self, plate):
        if "leave" in self.setup:
            self.press(f"{plate} {self.setup['leave']}")

    def everyday(self):
        long_press = seconds(self.plate["long_press"])
        # The factory's scenes, then all that is bound: first what moves the load, so that scenes differ.
        self.press_all("P1")
        for plate in ("P1", "P2", "P3", "P4"):
            for button, does in self.plate["normal"].items():
                if "hold" in does:
                    self.hold(f"{plate} {button}", long_press + 0.8)
            self.press_all(plate)
        # What others have stored is not ours.
        self.press_all("P1")
        # Held for just less and just more than counts.
        for button, does in self.plate["normal"].items():
            if "hold" in does:
                self.hold(f"P1 {button}", long_press - 0.04)
                self.hold(f"P1 {button}", long_press + 0.04)
        if self.button:
            for _ in range(2):
                self.press(f"M2 {self.button}")
            hold = seconds(self.module["setup"]["for"])
            self.hold(f"M2 {self.button}", hold - 0.04)
            self.hold(f"M2 {self.button}", hold + 0.04)
            self.press(f"M2 {self.button}")

    def press_all(self, plate):
        for button in self.plate["normal"]:
            self.press(f"{plate} {button}")

    def every_channel(self):
        hold = seconds(self.setup["for"])
        self.hold(f"P1 {self.setup['hold']}", hold - 0.04)
        for button in self.setup["hold"].split():
            if " " in self.setup["hold"]:
                self.hold(f"P1 {button}", hold * 1.2)
        self.hold(f"P1 {self.setup['hold']}", hold + 0.04)
        uses = [use for use in ("previous", "identify", "assign") if use in self.setup]
        for use in uses:
            self.press(f"P1 {self.setup[use]}", seconds(self.indicator["refuse"]) + 1)
        if "assign" in uses:  # what was offered at the first channel is not wanted in what follows
            self.wait(1)
        for _ in range(int(self.plate["channels"]) + 1):
            self.press(f"P1 {self.setup['next']}", 0.6)
        self.wait(seconds(self.indicator["identify"]) + 1)
        self.press(f"P1 {self.setup['next']}", seconds(self.indicator["refuse"]) + 1)
        for use in uses:
            self.press(f"P1 {self.setup[use]}", 3)
        for _ in range(int(self.plate["channels"]) + 1):
            self.press(f"P1 {self.setup['previous']}", 0.6)
        # From channel 1 back to 0 nobody is asked to show himself: heard apart from beacons.
        for _ in range(2):
            self.press(f"P1 {self.setup['next']}", 1.3)
            self.press(f"P1 {self.setup['previous']}", 1.3)
        self.wait(seconds(self.indicator["identify"]) + seconds(self.setup["beacon"]))
        self.leave("P1")
        self.wait(seconds(self.indicator["breathe"]) + 1)

    def assign(self, plate, steps):
        for _ in range(steps):
            self.press(f"{plate} {self.setup['next']}", 0.5)
        if "assign" in self.setup:
            self.press(f"{plate} {self.setup['assign']}", 1)

    def addresses(self):
        confirm = seconds(self.module["confirm"]) if self.confirms else 0
        # Nobody waits for this one.
        self.into_setup("P2")
        self.assign("P2", 2)
        self.leave("P2")
        # To a new one, to one of another site, to one that keeps its site; from a plate of another site as well.
        for module, plate, channel in (("M1", "P1", 2), ("M5", "P1", 3), ("M4", "P1", 4), ("M4", "P3", 2)):
            self.into_setup(plate)
            self.module_into_setup(module)
            self.assign(plate, channel - 1 if self.asks else channel)
            if self.asks:
                self.wait(seconds(self.module["ask"]) + 1)
            if self.confirms:
                self.assign(plate, 1)
                self.wait(confirm - 2.5)
                self.press(f"{module} {self.button}")
            self.wait(2)
            # Out of setup and in again: the channel begins anew.
            self.leave(plate)
            self.step(f"power: {{{module}: off}}")
            self.wait(3)
            self.step(f"power: {{{module}: on}}")
            self.wait(3)
        self.part()
        if self.confirms:  # and one that nobody confirms
            self.into_setup("P1")
            self.module_into_setup("M1")
            self.assign("P1", 6)
            self.wait(5)
            self.assign("P1", 1)
            self.wait(confirm + 2)
            self.leave("P1")
        if self.asks:  # one that asks before anybody answers
            self.module_into_setup("M1", seconds(self.module["ask"]) * 2.5)
            self.into_setup("P1", pause=seconds(self.module["ask"]) + 2)
            self.leave("P1")
        if self.asks:  # and more than the plate has
            self.into_setup("P1")
            for _ in range(int(self.plate["channels"])):
                self.press(f"P1 {self.setup['next']}", 0.3)
            self.module_into_setup("M2")
            self.press(f"P1 {self.setup['identify']}", 4)
            self.press(f"M2 {self.button}", 3)
            self.leave("P1")

    def zone_0(self):
        self.step("switches: {P1: {zone: 0}}")
        self.into_setup("P1")
        if self.asks:
            self.module_into_setup("M1", 3)
            self.press(f"M1 {self.button}")
        else:
            if self.offers_zone_0:
                self.module_into_setup("M1", 3)
            self.assign("P1", 1)
        self.leave("P1")
        self.step("switches: {P1: {zone: 3}}")
        if self.offers_zone_0:  # M1 waits until its time-out
            self.wait(seconds(self.module["setup"]["time_out"]) + 2)

    def time_outs(self):
        for device in ("P1", "M3"):
            plate = device[0] == "P"
            out = seconds((self.setup if plate else self.module["setup"])["time_out"])
            if plate:
                self.into_setup(device)
            else:
                self.module_into_setup(device)
            self.wait(out / 3)
            if plate:
                self.press(f"{device} {self.setup['next']}")
            elif self.button:
                # What does not leave: a press that began before the hold was over.
                self.wait(1)
            self.wait(out + 2)
        if self.button:
            self.module_into_setup("M3")
            self.press(f"M3 {self.button}")
            # Held on after setup has begun: its end may count from when the button comes up. And held until it ends.
            hold = seconds(self.module["setup"]["for"])
            out = seconds(self.module["setup"]["time_out"])
            self.hold(f"M3 {self.button}", hold + 10)
            self.wait(out + 12)
            self.hold(f"M3 {self.button}", hold + out + 5)
        else:
            for module in ("M2", "M6"):
                self.part()
                self.module_into_setup(module)
                self.wait(seconds(self.module["setup"]["time_out"]) + 2)
        # A module in setup hears beacons, and is asked to show itself.
        self.module_into_setup("M3")
        self.into_setup("P1", pause=seconds(self.setup["beacon"]) + 1)
        self.press(f"P1 {self.setup['next']}", 1)
        if "identify" in self.setup:
            self.press(f"P1 {self.setup['identify']}", seconds(self.indicator["identify"]) + 1)
        if self.button:
            self.press(f"M3 {self.button}")
        self.step("power: {P1: off}")
        self.wait(seconds(self.indicator["breathe"]) + 2)
        self.step("power: {P1: on}")
        self.wait(seconds(self.module["setup"]["time_out"]) + 2)
        self.into_setup("P2")
        self.wait(seconds(self.setup["beacon"]) + 1)
        self.leave("P2")
        # Two in setup, and one of them leaves: whose is which?
        self.part()
        self.into_setup("P1")
        self.into_setup("P3")
        self.leave("P3")
        self.wait(2)
        self.leave("P1")
        self.wait(seconds(self.indicator["breathe"]))

    def supply(self):
        if self.button:
            return
        gesture = self.module["setup"]["supply"]
        times, on_for = int(gesture["times"]), seconds(gesture["on_for"])
        # Once too few; on for just too long, and for just short enough.
        for count, on in ((times - 1, 0.4), (times + 1, on_for + 0.05), (times, on_for - 0.05)):
            self.part()
            for _ in range(count):
                self.step("power: {M3: off}")
                self.wait(0.4)
                self.step("power: {M3: on}")
                self.wait(on - HAND)
            self.wait(on_for + 2)

    def power_cuts(self):
        self.press("P1 " + next(b for b, d in self.plate["normal"].items() if d.get("press") == "on"))
        for mode in ("raise", "lower"):
            button = next(b for b, d in self.plate["normal"].items() if d.get("hold") == mode)
            self.hold(f"P1 {button}", seconds(self.plate["long_press"]) + 0.9, 1)
            self.step("power: off")
            self.wait(2)
            self.step("power: on")
            self.wait(3)
            for button, does in self.plate["normal"].items():
                if str(does.get("press", "")).startswith("recall"):
                    self.press(f"P1 {button}")
        # In setup.
        self.into_setup("P1")
        self.module_into_setup("M3")
        self.step("power: off")
        self.wait(2)
        self.step("power: on")
        self.wait(seconds(self.setup["beacon"]) + 1)

    def sleep(self):
        sleeps = seconds(self.indicator["blips_sleep"])
        on, off = (next(b for b, d in self.plate["normal"].items() if d.get("press") == what) for what in ("on", "off"))
        # All blips sleep; then each side wakes in its own way, and stays awake for its time.
        self.wait(sleeps + 5)
        self.press(f"P3 {on}")
        self.press(f"P1 {off}")
        self.press(f"P2 {on}")
        if self.button:
            self.press(f"M1 {self.button}")
            self.press(f"P3 {off}")
        self.wait(sleeps - 30)
        self.press(f"P4 {on}")
        self.wait(60)
        self.press(f"P4 {off}")
        for what in ("M2", "M3", "M4", "M6", "P1"):
            self.step(f"power: {{{what}: off}}")
            self.wait(2)
            self.step(f"power: {{{what}: on}}")
            self.wait(2)
            self.press(f"P3 {on}")

    def torn_write(self):
        button = next(b for b, d in self.plate["normal"].items() if d.get("hold", "").startswith("store"))
        on = next(b for b, d in self.plate["normal"].items() if d.get("press") == "on")
        self.wait(3)
        self.hold(f"P1 {button}", seconds(self.plate["long_press"]) + 0.3, 1)
        self.step("power: on")
        self.wait(3)
        self.press(f"P1 {button}", 3)
        self.press(f"P4 {on}")
        self.press_all("P4")
        self.step("power: off")
        self.wait(2)
        self.step("power: on")
        self.wait(3)

    # --- what takes somebody at the right moment, from `begin` on: `lag` is from a press to where it is heard ---

    def colleagues(self, begin, lag):
        sleeps, long_press = seconds(self.indicator["blips_sleep"]), seconds(self.plate["long_press"])
        on, off = (next(b for b, d in self.plate["normal"].items() if d.get("press") == what) for what in ("on", "off"))
        up, down = (next(b for b, d in self.plate["normal"].items() if d.get("hold") == what) for what in ("raise", "lower"))
        steps, looks = [], []
        # One site's load is still on its way when another zone, or another site, stops.
        for i, (other, button) in enumerate((("P1", down), ("P2", down), ("P1", up), ("P2", up))):
            t = begin + 12 * i
            steps.append(("colleague", t, f"press: P3 {on if button == down else off}", None))
            steps.append(("colleague", t + 3, f"hold: P3 {button}", long_press + 2.4))
            steps.append(("another", t + 3.5, f"hold: {other} {button}", long_press + 0.5))
            looks.append((t + 4.2 + long_press, "M4", ("level",)))
        # A telegram just before blips fall asleep, and just after.
        t = begin + 60
        for module, near in (("M4", -0.04), ("M5", 0.04)):
            steps += [("mains", t, f"power: {{{module}: off}}", None), ("mains", t + 2, f"power: {{{module}: on}}", None)]
            steps.append(("colleague", t + 2 + sleeps + near - lag, f"press: P3 {on}", None))
            looks.append((t + 2 + sleeps + near + 0.02, module, ("indicator",)))
            t += 5
        return steps, looks

    def scenario(self, others=""):
        self.steps, self.parts = [], []
        for part in (self.everyday, self.every_channel, self.addresses, self.zone_0, self.time_outs, self.supply,
                     self.power_cuts, self.everyday, self.sleep, self.torn_write):
            self.part()
            part()
        return f"""# yaml-language-server: $schema=../schema/scenario.schema.json
drybus: 1
title: All that the tables of {self.name} say, watched closely
about: |
  Made by tests/tables/watch_family.py: devices go through the family's rows and times, and somebody looks just before and
  just after each change.
family: {self.name}
seed: 1
{self.device_yaml()}{others}script:
""" + "\n".join(self.steps) + "\n"


# --- looking ---

def run(text):
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "watched.yaml"
        record = pathlib.Path(folder) / "record.jsonl"
        path.write_text(text)
        ran = subprocess.run([PROGRAM, "run", str(path), "--format", "json", "--record", str(record)], capture_output=True, text=True)
        if ran.returncode == 2:
            sys.exit(ran.stderr)
        return json.loads(ran.stdout), [json.loads(line) for line in record.read_text().splitlines()]


SHOWN_BY = {"indicator": ("indicator",), "mode": ("mode", "indicator"), "channel": ("channel",), "level": ("level",),
            "level-reached": ("level",), "stored": ("address", "power_up"), "power-up": ("power_up",),
            "store-torn": ("address", "power_up"), "power": ("indicator",)}


def moments(record, parts):
    """When somebody should look at what: around changes, in the middle of what loads do, and where nothing should come of a
    press or a telegram. By ms: the facts that count, and those that are told if they have changed."""
    counts = [collections.Counter()]
    wanted = collections.defaultdict(set)
    last = {}
    modes, lamps, channels = (collections.defaultdict(int) for _ in range(3))

    def look(ms, who, facts):
        if ms > 0:
            wanted[ms].update(f"{who}.{fact}" for fact in facts)

    def is_new(*what, times=EACH_CHANGE):
        counts[-1][what] += 1
        return counts[-1][what] <= times

    for entry in record:
        kind, who, value, ms = entry["kind"], entry["who"], entry["a"], int(entry["at_ns"] / 1e6)
        if kind == "step" and who == "installer" and value in parts:
            counts.append(collections.Counter())
        elif kind == "power" and value and is_new(kind, who, modes[who], times=4):
            look(ms + 30, who, ("mode", "indicator"))
        elif kind in SHOWN_BY:
            change = (kind, who, last.get((kind, who)), value, channels[who])
            last[kind, who] = value
            if kind == "mode":
                modes[who] = value
            if kind == "indicator":
                lamps[who] = value
            if kind == "channel":
                channels[who] = value
            if not is_new(*change):
                continue
            look(ms - MARGIN_MS, who, SHOWN_BY[kind])
            look(ms + MARGIN_MS, who, SHOWN_BY[kind])
            if kind == "level" and entry["b"] > 40e6:
                look(int(ms + entry["b"] / 2e6), who, ("level",))
        elif kind == "heard" and is_new(kind, who, modes[who], lamps[who], entry["text"].split('"')[1].split(" ")[0]):
            look(ms + 20, who, ("indicator", "mode"))
            if who[0] == "M" and " in " in entry["text"]:  # a command
                look(ms + 150, who, ("level",))
        elif kind == "contact" and entry["b"] and is_new(kind, who, value, modes[who], channels[who], times=3 if channels[who] == 1 else 1):
            for near in {who, "P2"}:
                look(ms + 70, near, ("indicator",))
    return wanted


def look_text(looks):
    return "".join(f"    - {{at: {ms}ms, expect: {{{', '.join(f'{fact}: {value}' for fact, value in values)}}}}}\n"
                   for ms, values in looks)


def lag_of(record, button):
    """From a short press of this button on P3 to where its telegram is heard, in s."""
    for pressed in record:
        if pressed["kind"] == "contact" and pressed["who"] == "P3" and pressed["a"] == button and pressed["b"]:
            heard = next(entry for entry in record if entry["kind"] == "heard" and entry["at_ns"] > pressed["at_ns"])
            if heard["at_ns"] - pressed["at_ns"] < 0.4e9:
                return (heard["at_ns"] - pressed["at_ns"]) / 1e9
    return 0


def main():
    exercise = Exercise(sys.argv[1])
    _, record = run(exercise.scenario())
    begun = [entry for entry in record if entry["kind"] == "store-begun"]
    cut = begun[-1]["at_ns"] / 1e9 + seconds(exercise.module["store"]) / 2
    on = next(b for b, d in exercise.plate["normal"].items() if d.get("press") == "on")
    lag = lag_of(record, exercise.plate["buttons"].index(on))
    steps, looks = exercise.colleagues(record[-1]["at_ns"] / 1e9 + 5, lag)
    steps.append(("mains", cut, "power: off", None))
    others = "others:\n"
    for name in ("mains", "colleague", "another"):
        others += f"  {name}:\n"
        for who, at, text, lasts in sorted(steps, key=lambda step: step[1]):
            if who == name:
                others += f"    - {text}\n" + (f"      for: {time(lasts)}\n" if lasts else "") + f"      at: {round(at * 1000)}ms\n"
    _, record = run(exercise.scenario(others))
    wanted = moments(record, exercise.parts)
    for at, who, facts in looks:
        wanted[round(at * 1000)].update(f"{who}.{fact}" for fact in facts)
    # What the program says of each: first anything, then what it is.
    anything = {"indicator": "dark", "mode": "normal", "channel": "0", "address": "none", "power_up": "off", "level": "0%"}
    asked = [(ms, [(fact, anything[fact.split(".")[1]]) for fact in sorted(facts)]) for ms, facts in sorted(wanted.items())]
    told, _ = run(exercise.scenario(f"{others}  watcher:\n{look_text(asked)}"))
    actual = iter(told["checks"])
    looks = [(ms, [(fact, re.sub(r" %$", "%", next(actual)["actual"])) for fact, _ in values]) for ms, values in asked]
    print(exercise.scenario(f"{others}  watcher:\n{look_text(looks)}"), end="")


main()
