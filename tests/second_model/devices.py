"""Plates and modules once more, as plainly as they can be told.

Written from the brief's chapter on behaviour and the family files alone, without a look at model/devices, so that the two
can be held against each other. Telegrams take no time and are never lost; lamps are left out. Times are whole milliseconds.
Where the brief is silent the line says so.
"""
import heapq
import re

import yaml

CLOSE = 700  # ms
NEARLY_DARK = 120  # ms: whether a load on its way down is lit still, so near to its end, is left out
UNITS = {'ms': 1, 's': 1000, 'min': 60_000, 'h': 3_600_000}


def ms(text):
    return int(round(sum(float(number) * UNITS[unit]
                         for number, unit in re.findall(r'([\d.]+)\s*(ms|s|min|h)\b', str(text)))))


class Family:
    def __init__(self, path):
        with open(path, encoding='utf-8') as file:
            told = yaml.load(file, yaml.BaseLoader)  # all words: a button may be called off
        plate, module = told['plate'], told['module']
        setup = plate['setup']
        self.buttons = plate['buttons']
        self.channels = int(plate['channels'])
        self.long_press = ms(plate['long_press'])
        self.normal = plate['normal']
        self.gesture = frozenset(setup['hold'].split())
        self.gesture_for = ms(setup['for'])
        self.meaning = {setup[word]: word for word in ('next', 'previous', 'identify', 'assign', 'leave')}
        self.plate_time_out = ms(setup['time_out'])
        self.plate_counts_presses = setup['counted_from'] == 'last press'
        self.local = module['button']
        self.module_for = ms(module['setup']['for'])
        self.module_time_out = ms(module['setup']['time_out'])
        self.fade = ms(module['fade'])
        self.full_range = ms(module['full_range'])
        self.scenes = int(module['scenes'])
        self.factory_site = int(module['factory']['site'])
        self.factory_power_up = module['factory']['power_up']
        self.sites = switch_range(plate['site_switches'])
        self.zones = switch_range(plate['zone_switches'])
        self.wired = told['bus']['kind'] == 'line'


def switch_range(bank):
    return range(2 ** int(bank['binary'])) if 'binary' in bank else range(10 ** int(bank['dials']))


class Device:
    """A contact is closed while anybody holds it."""

    def __init__(self, world, name):
        self.world, self.name, self.family = world, name, world.family
        self.powered = True
        self.hands = {}
        self.stuck = set()
        self.lapse = 0  # what was scheduled before this number changed no longer counts

    def later(self, delay, deed):
        lapse = self.lapse
        self.world.later(delay, lambda: self.lapse == lapse and deed())

    def forget_timers(self):
        self.lapse += 1

    def finger(self, button, down):
        before = self.hands.get(button, 0)
        self.hands[button] = before + (1 if down else -1)
        if (before > 0) == (self.hands[button] > 0) or not self.powered:
            return
        if down:
            self.down(button)
        else:
            self.up(button)

    def stick(self, button, stuck):
        """A button that is stuck is held by nobody in particular, until it is freed."""
        if stuck == (button in self.stuck):
            return
        (self.stuck.add if stuck else self.stuck.discard)(button)
        self.finger(button, stuck)

    def held(self):
        return {button for button, hands in self.hands.items() if hands > 0}

    def power(self, on):
        if on == self.powered:
            return
        self.powered = on
        self.forget_timers()
        self.start() if on else self.stop()


class Plate(Device):
    def __init__(self, world, name, site, zone):
        super().__init__(world, name)
        self.site, self.zone = site, zone
        self.channel = 0
        self.setup = False
        self.touch = 0       # counts the times at which what is held changed
        self.spoilt = False  # more than one button, or a long press: what comes up then says nothing
        self.moving = None

    def start(self):
        self.setup, self.channel = False, 0

    def stop(self):
        self.setup, self.channel, self.moving = False, 0, None

    def down(self, button):
        self.touch += 1
        touch = self.touch
        if self.setup:
            self.in_setup(button)
            return
        held = self.held()
        if len(held) == 1:
            self.spoilt = False
        else:
            self.spoilt = True  # the brief is silent: two buttons that are no gesture do nothing
        if held == self.family.gesture:
            self.later(self.family.gesture_for, lambda: self.touch == touch and self.enter())
        told = self.family.normal.get(button, {})
        if len(held) > 1 or not told:
            return
        if 'hold' in told:
            self.later(self.family.long_press, lambda: self.touch == touch and self.long_press(told['hold']))
        elif button not in self.family.gesture:
            self.say(told['press'])

    def long_press(self, what):
        self.spoilt = True
        if what in ('raise', 'lower'):
            self.moving = what
        self.say(what)

    def up(self, button):
        self.touch += 1
        if self.moving:
            self.moving = None
            self.say('stop')
        told = self.family.normal.get(button, {})
        if not self.setup and not self.spoilt and ('hold' in told or button in self.family.gesture) and 'press' in told:
            self.say(told['press'])
        if not self.held():
            self.spoilt = False

    def enter(self):
        self.setup, self.channel, self.spoilt = True, 0, True
        self.count_time_out()

    def count_time_out(self):
        self.forget_timers()
        self.later(self.family.plate_time_out, self.leave)
        self.world.deadline(self, self.family.plate_time_out)

    def leave(self):
        self.setup, self.channel, self.spoilt = False, 0, True
        self.forget_timers()

    def in_setup(self, button):
        if self.family.plate_counts_presses:
            self.count_time_out()
        meaning = self.family.meaning.get(button)
        if meaning == 'next' and self.channel < self.family.channels:
            self.channel += 1
        elif meaning == 'previous' and self.channel > 0:
            self.channel -= 1
        elif meaning == 'assign' and self.channel > 0 and self.zone > 0:
            self.world.send(self, 'assign')
        elif meaning == 'leave':
            self.leave()

    def say(self, what):
        self.world.send(self, what)


class Module(Device):
    def __init__(self, world, name, address=None, power_up=None, last_level=None, scenes=None):
        super().__init__(world, name)
        self.address = address
        self.power_up = power_up or self.family.factory_power_up
        self.scenes = {n: 100 - 100 * (n - 1) / self.family.scenes
                       for n in range(1, self.family.scenes + 1)}  # silent: evenly down
        self.scenes.update(scenes or {})
        self.setup = False
        self.touch = 0
        self.used_up = False  # this press has had its effect
        self.last = last_level if last_level is not None else 0.0  # silent: dark, when nothing was ever kept
        self.rises_or_sinks = False  # by raise or lower: what stop ends
        self.level_then, self.then, self.goal, self.over = 0.0, 0, 0.0, 0
        self.start()

    @property
    def level(self):
        if not self.powered:
            return 0.0
        gone = self.world.now - self.then
        if gone >= self.over:
            return self.goal
        return self.level_then + (self.goal - self.level_then) * gone / self.over

    @property
    def lit(self):
        if self.goal == 0 and abs(self.then + self.over - self.world.now) < NEARLY_DARK and self.level_then > 0:
            self.world.chance = True
        return self.level > 0 or self.goal > 0

    def go(self, goal, over=0, rises_or_sinks=False):
        """From where it is, at an even pace; an identify in between is a show and leaves all that as it is."""
        self.level_then, self.then = self.level, self.world.now
        self.goal, self.over, self.rises_or_sinks = goal, over, rises_or_sinks

    def fade(self, goal):
        self.go(goal, self.family.fade)

    def start(self):
        self.go({'off': 0.0, 'full': 100.0, 'last': self.last}[self.power_up])
        self.setup, self.used_up = False, False

    def stop(self):
        self.setup = False

    def power(self, on):
        if self.powered and not on:
            self.last = self.level
        super().power(on)

    def down(self, button):
        self.touch += 1
        touch = self.touch
        if self.setup:
            self.leave()
            self.used_up = True
            return
        self.used_up = False
        self.later(self.family.module_for, lambda: self.touch == touch and self.enter())

    def up(self, button):
        self.touch += 1
        if not self.used_up and not self.setup:
            self.fade(0.0 if self.lit else 100.0)

    def enter(self):
        self.setup, self.used_up = True, True
        self.forget_timers()
        self.later(self.family.module_time_out, self.leave)
        self.world.deadline(self, self.family.module_time_out)

    def leave(self):
        self.setup = False
        self.forget_timers()

    def hears(self, plate, what):
        if what == 'assign':
            if self.setup:
                before = self.address[0] if self.address else self.family.factory_site
                self.address = (plate.site, plate.zone, plate.channel)
                if before != plate.site:
                    self.power_up = 'off'
                self.leave()
            return
        mine = (plate.site, plate.zone) == self.address[:2] if self.address else plate.site == self.family.factory_site
        if not mine:
            return
        verb, _, number = what.partition(' ')
        if verb == 'on':
            self.fade(100.0)
        elif verb == 'off':
            self.fade(0.0)
        elif verb == 'recall':
            self.fade(self.scenes[int(number)])
        elif verb == 'store':
            self.scenes[int(number)] = self.level
        elif verb in ('raise', 'lower'):
            goal = 100.0 if verb == 'raise' else 0.0
            self.go(goal, self.family.full_range * abs(goal - self.level) / 100, True)
        elif verb == 'stop' and self.rises_or_sinks:
            self.go(self.level)


class World:
    """Everything in one place; who hears whom is asked of `joined`."""

    def __init__(self, family):
        self.family = family
        self.now, self.count, self.queue = 0, 0, []
        self.devices = {}
        self.links = {}       # (a, b): closed?
        self.deadlines = []   # moments near which the brief settles nothing
        self.chance = False   # something came so close to a load's end that no outcome can be foretold

    def later(self, delay, deed):
        self.count += 1
        heapq.heappush(self.queue, (self.now + delay, self.count, deed))

    def at(self, moment, deed):
        self.count += 1
        heapq.heappush(self.queue, (moment, self.count, deed))

    def deadline(self, device, after):
        """A time-out will end; what happens close to it is left out of scripts, unless it is called off before."""
        moment = self.now + after
        device.later(after - CLOSE, lambda: self.deadlines.append(moment))

    def joined(self, a):
        """Who is joined to it by closed links; over the air one link is all there may be between two."""
        met, open_ends = {a}, [a]
        while open_ends:
            here = open_ends.pop()
            for ends, closed in self.links.items():
                if closed and here in ends:
                    other = ends[0] if ends[1] == here else ends[1]
                    if other not in met:
                        met.add(other)
                        if self.family.wired:
                            open_ends.append(other)
        return met

    def send(self, plate, what):
        met = self.joined(plate.name)
        for device in self.devices.values():
            if isinstance(device, Module) and device.powered and device.name in met:
                device.hears(plate, what)

    def run(self, until):
        while self.queue and self.queue[0][0] <= until:
            self.now, _, deed = heapq.heappop(self.queue)
            deed()
        self.now = until
