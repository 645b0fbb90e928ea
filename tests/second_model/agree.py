#!/usr/bin/env python3
"""agree.py PROGRAM SOURCE FIRST COUNT: random scripts of several people, run by drybus and by devices.py.

Both must agree on mode and channel, address, power-up mode and level, at the end and at moments in between. Scripts whose
outcome the brief leaves to chance are left out: a telegram was lost, or somebody acted within 0.7 s of a time-out's end.
Exit 1 names the seeds; one of them alone: agree.py PROGRAM SOURCE SEED 1 --keep FILE.
"""
import argparse
import concurrent.futures
import json
import os
import random
import subprocess
import sys
import tempfile

import devices

GAP = 1500          # ms between the beginnings of two deeds: fades are over by then
QUICK = 230         # some come so soon after another that they meet a load on its way; telegrams are over by then
APART = 60          # ms: two fingers that move sooner after one another may send in either order
SETTLED = 2500      # nothing is asked sooner after a deed: fades and writes are over by then
TOLERANCE = 5       # percent of full; a fade is met in its middle by what comes by telegram, which takes its time

DEEDS = {'setup plate': 4, 'setup module': 4, 'next': 4, 'assign': 4, 'button': 5, 'long': 3, 'local': 4, 'brief': 1, 'power': 1.5,
         'all': .6, 'switches': 1, 'link': 1, 'two hands': .7, 'stuck': .5}  # and how often


class Script:
    """A site and what people do there, drawn from a seed."""

    weights = DEEDS

    def __init__(self, family_name, family, seed):
        self.draw = random.Random(seed)
        self.family_name, self.family, self.seed = family_name, family, seed
        self.plates, self.modules = {}, {}
        self.deeds = []      # (begin, person, yaml step, fingers, other)
        self.probes = []
        self.make_site()
        self.make_deeds()

    def make_site(self):
        draw, family = self.draw, self.family
        numbers = [family.factory_site, draw.choice(family.sites), draw.choice(family.sites)]
        zones = [draw.choice(family.zones), draw.choice(family.zones)]
        for n in range(draw.randint(1, 3)):
            self.plates[f'P{n + 1}'] = {'site': draw.choice(numbers), 'zone': draw.choice(zones)}
        self.numbers = numbers
        for n in range(draw.randint(2, 4)):
            told = {}
            if draw.random() < .5:
                plate = draw.choice(list(self.plates.values()))
                told['stored'] = (plate['site'], max(1, plate['zone']), draw.randint(1, 4))
                told['power_up'] = draw.choice(['off', 'full', 'last'])
                if draw.random() < .5:
                    told['last_level'] = draw.randint(0, 100)
            if draw.random() < .3:
                told['scenes'] = {draw.randint(1, family.scenes): draw.randint(0, 100)}
            self.modules[f'M{n + 1}'] = told
        names = list(self.plates) + list(self.modules)
        draw.shuffle(names)
        if family.wired:
            self.links = list(zip(names, names[1:]))
        else:
            pairs = [(a, b) for i, a in enumerate(names) for b in names[i + 1:]]
            self.blocked = [pair for pair in pairs if draw.random() < .15]
            self.links = [pair for pair in pairs if pair not in self.blocked]

    # --- what people do ---

    def make_deeds(self):
        draw = self.draw
        self.people = ['installer', 'colleague', 'caretaker'][:draw.randint(1, 3)]
        self.free = {person: 0 for person in self.people}
        self.in_hand = {}     # until when somebody touches a device
        self.now = 1000
        self.last_end = 0
        for _ in range(draw.randint(8, 40)):
            self.one_deed()
            long = self.family.plate_time_out // draw.choice([2, 3]) if draw.random() < .12 else 0
            self.now += QUICK + draw.randint(0, 300) if draw.random() < .3 else GAP + draw.randint(0, 3000) + long
            if draw.random() < .15:
                self.now = max(self.now, self.last_end + SETTLED)
                self.probes.append(self.now)
                self.now += GAP
        self.ends = max(self.now, self.last_end) + SETTLED + 1000
        self.probes.append(self.ends)

    def one_deed(self):
        draw, family = self.draw, self.family
        plate, module = draw.choice(list(self.plates)), draw.choice(list(self.modules))
        local = [family.local]
        deed = draw.choices(list(self.weights), list(self.weights.values()))[0]
        meaning = {word: button for button, word in family.meaning.items()}
        if deed == 'setup plate':
            self.hold(plate, sorted(family.gesture), family.gesture_for + draw.randint(200, 900))
        elif deed == 'setup module':
            self.hold(module, local, family.module_for + draw.randint(200, 900))
        elif deed in ('next', 'assign'):
            self.hold(plate, [meaning[deed]], 120)
        elif deed == 'button':
            self.hold(plate, [draw.choice(family.buttons)], 120)
        elif deed == 'long':
            self.hold(plate, [draw.choice(family.buttons)], family.long_press + draw.randint(300, 3000))
        elif deed == 'local':
            self.hold(module, local, 120)
        elif deed == 'brief':
            who, buttons, time = draw.choice([(plate, sorted(family.gesture), family.gesture_for),
                                              (module, local, family.module_for)])
            self.hold(who, buttons, time - draw.randint(300, 800))
        elif deed == 'two hands':
            self.two_hands(module, local, family.module_for)
        elif deed == 'stuck':
            self.stuck_under_a_finger(plate, [draw.choice(family.buttons)], family.long_press + draw.randint(1500, 3000))
        elif deed == 'power':
            who = draw.choice([plate, module])
            self.other({who}, {'power': {who: draw.choice(['on', 'off'])}})
        elif deed == 'all':
            self.other(set(self.plates) | set(self.modules), {'power': draw.choice(['on', 'off', 'on'])})
        elif deed == 'switches':
            set_to = {'site': draw.choice(self.numbers), 'zone': draw.choice(self.family.zones)}
            self.other({plate}, {'switches': {plate: set_to}})
        elif self.links:
            self.other(set(), {'fault': {draw.choice(['open', 'mend', 'mend']): '-'.join(draw.choice(self.links))}})

    def somebody(self, touched):
        free = [person for person in self.people if self.free[person] <= self.now]
        if not free or any(self.in_hand.get(each, 0) > self.now for each in touched):
            return None
        return self.draw.choice(free)

    def hold(self, who, buttons, time):
        person = self.somebody({who})
        if person:
            self.take(person, who, self.now, time, {'hold': f'{who} {" ".join(buttons)}', 'for': f'{time}ms'}, buttons)

    def two_hands(self, who, buttons, time):
        """Two on one button, one after the other, so that together they hold it long enough and neither does alone."""
        first = self.somebody({who})
        others = [person for person in self.people if self.free[person] <= self.now and person != first]
        if not first or not others:
            return
        half = time // 2 + 400
        step = {'hold': f'{who} {" ".join(buttons)}', 'for': f'{half}ms'}
        self.take(first, who, self.now, half, step, buttons)
        self.take(self.draw.choice(others), who, self.now + half - 300, half, dict(step), buttons)

    def stuck_under_a_finger(self, who, buttons, time):
        """The button sticks and is freed while somebody holds it, or only after they have let go of it."""
        first = self.somebody({who})
        others = [person for person in self.people if self.free[person] <= self.now and person != first]
        if not first or not others:
            return
        second = self.draw.choice(others)
        freed = self.draw.choice([time - 500, time + 400])
        named = f'{who} {" ".join(buttons)}'
        self.take(first, who, self.now, time, {'hold': named, 'for': f'{time}ms'}, buttons)
        self.deeds.append((self.now + 300, second, {'fault': {'stuck': named}}, None))
        self.deeds.append((self.now + freed, second, {'fault': {'free': named}}, None))
        self.free[second] = self.in_hand[who] = self.now + max(freed, time) + 200
        self.last_end = max(self.last_end, self.now + freed)

    def take(self, person, who, begin, time, step, buttons):
        self.deeds.append((begin, person, step, (who, buttons, time)))
        self.free[person] = self.in_hand[who] = begin + time + 200
        self.last_end = max(self.last_end, begin + time)

    def other(self, touched, step):
        person = self.somebody(touched)
        if person:
            self.deeds.append((self.now, person, step, None))
            self.free[person] = self.now + 200
            self.last_end = max(self.last_end, self.now)

    # --- as a scenario ---

    def site_text(self):
        lines = ['drybus: 1', f'title: Random script {self.seed}', f'family: {self.family_name}', f'seed: {self.seed}',
                 'people: {pause: 100ms}', 'site:', '  plates:']
        lines += [f'    {name}: {{switches: {{site: {p["site"]}, zone: {p["zone"]}}}}}' for name, p in self.plates.items()]
        lines.append('  modules:')
        for name, told in self.modules.items():
            words = []
            if 'stored' in told:
                words += ['stored: ' + '/'.join(map(str, told['stored'])), 'power_up: ' + told['power_up']]
            if 'last_level' in told:
                words.append(f'last_level: {told["last_level"]}%')
            if 'scenes' in told:
                words.append('scenes: {' + ', '.join(f'{n}: {level}%' for n, level in told['scenes'].items()) + '}')
            lines.append(f'    {name}: {{{", ".join(words)}}}')
        if self.family.wired:
            lines.append('  bus: {tree: [' + ', '.join('-'.join(link) for link in self.links) + ']}')
        else:
            lines.append('  bus: {radio: all, blocked: [' + ', '.join('-'.join(link) for link in self.blocked) + ']}')
        return lines

    def text(self, expected):
        """`expected`: for each probe what should hold, as facts."""
        lines = self.site_text() + ['others:']
        for person in self.people[1:] + ['onlooker']:
            lines.append(f'  {person}:')
            lines += self.steps(person, expected)
        return '\n'.join(lines + ['script:'] + self.steps('installer', expected)) + '\n'

    def steps(self, person, expected):
        if person == 'onlooker':
            steps = [(at, {'expect': facts}) for at, facts in zip(self.probes, expected)]
        else:
            steps = [(begin, step) for begin, who, step, _ in sorted(self.deeds, key=lambda deed: deed[0]) if who == person]
        lines = []
        for at, step in steps or [(1, {'note': 'looks on'})]:
            (key, value), *rest = step.items()
            lines.append(f'    - {key}: {as_yaml(value)}')
            lines += [f'      {word}: {as_yaml(told)}' for word, told in rest]
            lines.append(f'      at: {at}ms')
        return lines

    # --- as the plain model has it ---

    def play(self):
        """Facts for each probe, and whether anything happened where the brief settles nothing."""
        world = devices.World(self.family)
        for name, told in self.plates.items():
            world.devices[name] = devices.Plate(world, name, told['site'], told['zone'])
        for name, told in self.modules.items():
            world.devices[name] = devices.Module(world, name, told.get('stored'), told.get('power_up'),
                                                 told.get('last_level'), told.get('scenes'))
        world.links = {link: True for link in self.links}
        moments = []
        for begin, _, step, fingers in self.deeds:
            moments.append(begin)
            if fingers:
                who, buttons, time = fingers
                moments.append(begin + time)
                for button in sorted(buttons, key=(self.family.buttons + [self.family.local]).index):
                    world.at(begin, lambda who=who, button=button: world.devices[who].finger(button, True))
                    world.at(begin + time, lambda who=who, button=button: world.devices[who].finger(button, False))
            else:
                world.at(begin, lambda step=step: self.do(world, step))
        facts = []
        for probe in self.probes:
            world.run(probe)
            facts.append({name: state_of(device) for name, device in world.devices.items()})
        moments += self.probes
        fingers = sorted((at, who) for begin, _, _, told in self.deeds if told
                         for who, at in [(told[0], begin), (told[0], begin + told[2])])
        chance = world.chance or any(later[0] - sooner[0] < APART and later[1] != sooner[1]
                                     for sooner, later in zip(fingers, fingers[1:]))
        chance = chance or any(abs(moment - deadline) <= devices.CLOSE for moment in moments for deadline in world.deadlines)
        return facts, chance

    @staticmethod
    def do(world, step):
        (verb, what), = step.items()
        if verb == 'power':
            for name, on in (what.items() if isinstance(what, dict) else [(each, what) for each in world.devices]):
                world.devices[name].power(on == 'on')
        elif verb == 'switches':
            for name, told in what.items():
                world.devices[name].site, world.devices[name].zone = told['site'], told['zone']
        elif set(what) & {'stuck', 'free'}:
            (kind, named), = what.items()
            who, button = named.split()
            world.devices[who].stick(button, kind == 'stuck')
        else:
            (kind, link), = what.items()
            world.links[tuple(link.split('-'))] = kind != 'open'


def as_yaml(value):
    if not isinstance(value, dict):
        return str(value)
    return '{' + ', '.join(f'{key}: {as_yaml(told)}' for key, told in value.items()) + '}'


def state_of(device):
    if isinstance(device, devices.Plate):
        return {'mode': 'setup' if device.setup else 'normal', 'channel': device.channel}
    return {'mode': 'setup' if device.setup else 'normal', 'power_up': device.power_up,
            'address': '/'.join(map(str, device.address)) if device.address else 'none', 'level': device.level}


def expectation(facts):
    """Levels in the middle only where they are whole: what was raised or lowered depends on how long a telegram takes."""
    wanted = {}
    for name, state in facts.items():
        for fact, value in state.items():
            if fact != 'level':
                wanted[f'{name}.{fact}'] = value
            elif value == int(value):
                wanted[f'{name}.level'] = f'{int(value)}%'
    return wanted


def differences(program, script, env, keep):
    facts, chance = script.play()
    if chance:
        return 'left out', []
    text = script.text([expectation(each) for each in facts])
    path = keep or tempfile.mkstemp(suffix='.yaml')[1]
    try:
        with open(path, 'w', encoding='utf-8') as file:
            file.write(text)
        ran = subprocess.run([program, 'run', path, '--format', 'json'], capture_output=True, text=True, env=env, timeout=600)
        if not ran.stdout:
            return 'failed', [f'exit {ran.returncode}: {ran.stderr.strip()}']
        told = json.loads(ran.stdout)
    finally:
        if not keep:
            os.unlink(path)
    if any(finding['id'] == 'telegram-lost' for finding in told['findings']):
        return 'left out', []
    apart = [f'at {check["at_s"]} s {check["what"]}: is {check["actual"]}'
             for check in told['checks'] if not check['passed']]
    for name, state in facts[-1].items():
        if 'level' in state and abs(told['devices'][name]['level'] - state['level']) > TOLERANCE:
            apart.append(f'at the end {name}.level is {state["level"]:.1f}: is {told["devices"][name]["level"]}')
    return ('apart' if apart else 'agree'), apart


def main():
    words = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    words.add_argument('program')
    words.add_argument('source')
    words.add_argument('first', type=int)
    words.add_argument('count', type=int)
    words.add_argument('--keep')
    asked = words.parse_args()
    folder = os.path.join(asked.source, 'scenarios', 'families')
    # The second model knows the usual machines: a hold leads to setup, and an offer is taken at once.
    names = ['radio-keypad', 'wired-keypad']
    families = {name: devices.Family(os.path.join(folder, name + '.yaml')) for name in names}
    env = dict(os.environ, DRYBUS_FAMILIES=folder, NO_COLOR='1')

    def judge(seed):
        name = names[seed % len(names)]
        return seed, differences(asked.program, Script(name, families[name], seed), env, asked.keep)

    tally, shown = {}, 0
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for seed, (verdict, apart) in pool.map(judge, range(asked.first, asked.first + asked.count)):
            tally[verdict] = tally.get(verdict, 0) + 1
            if apart and shown < 10:
                shown += 1
                print(f'seed {seed}: ' + '; '.join(apart[:4]))
                print(f'    again: {sys.argv[0]} {asked.program} {asked.source} {seed} 1 --keep FILE.yaml')
    print(', '.join(f'{count} {verdict}' for verdict, count in sorted(tally.items())))
    wrong = tally.get('apart', 0) + tally.get('failed', 0)
    if asked.count >= 20 and tally.get('agree', 0) * 2 < asked.count:
        print('too few scripts were left to compare')
        return 1
    return 1 if wrong else 0


if __name__ == '__main__':
    sys.exit(main())
