"""An install that goes right but for one slip or fault, so that what is found stems from it alone.

Two zones of one site, a plate and one to three modules each; everybody in one place. The installer does one zone after the other
and leaves the plate's setup each time. `Slip` names what goes wrong; what was drawn follows from the seed.
"""
import random

SLIPS = ['none', 'forgets a module', 'holds a module too briefly', 'one press too many', 'leaves a module in setup', 'is away too long',
         'a second plate in setup', 'zone zero', 'factory site', 'wrong zone', 'power cut in the write', 'link open', 'leaves the plate in setup',
         'caretaker ends setup', 'same channel twice', 'presses a module out of setup']


class OneSlip:
    def __init__(self, families, seed):
        self.seed, self.draw = seed, random.Random(seed)
        self.family_name = sorted(families)[seed % len(families)]
        self.family = families[self.family_name]
        self.button = {word: button for button, word in self.family.meaning.items()}
        self.slip = SLIPS[seed // len(families) % len(SLIPS)]
        self.lines, self.others = [], []
        draw = self.draw
        number = draw.choice([n for n in self.family.sites if n not in (0, self.family.factory_site)])
        self.numbers = [number]
        self.plates = {f'P{n}': {'site': number, 'zone': n + 2} for n in (1, 2)}
        self.modules = {}
        for n, plate in ((1, 'P1'), (2, 'P2')):
            for channel in range(1, draw.randint(2, 4)):
                self.modules[f'M{n}{channel}'] = (plate, channel)
        self.victim = draw.choice([m for m, (plate, _) in self.modules.items() if plate == 'P1'])
        self.set_plates = {name: dict(numbers) for name, numbers in self.plates.items()}
        if self.slip == 'zone zero':
            self.set_plates['P1']['zone'] = 0
        if self.slip == 'wrong zone':
            self.set_plates['P1']['zone'] = 7
        if self.slip == 'factory site':
            for numbers in self.set_plates.values():
                numbers['site'] = self.family.factory_site
        self.channel = 0
        for plate in ('P1', 'P2'):
            self.do_zone(plate)

    def step(self, text):
        self.lines.append(f'    - {text}')

    def hold(self, device, time=None):
        plate = device in self.plates
        gesture = ' '.join(sorted(self.family.gesture)) if plate else self.family.local
        self.step(f'hold: {device} {gesture}')
        self.lines.append(f'      for: {time or (self.family.gesture_for if plate else self.family.module_for) + 300}ms')
        if plate:
            self.step('wait: 100ms')  # its contacts settle: a button of the gesture may be the one that is pressed next

    def do_zone(self, plate):
        slips = plate == 'P1'
        self.channel = 0
        self.hold(plate)
        if slips and self.slip == 'a second plate in setup':
            self.hold('P2')
        for module, (its_plate, channel) in self.modules.items():
            if its_plate == plate:
                self.do_module(plate, module, channel, slips and module == self.victim)
        if not (slips and self.slip == 'leaves the plate in setup'):
            self.step(f'press: {plate} {self.button["leave"]}')
        self.step('wait: 2s')

    def do_module(self, plate, module, channel, slips):
        slip = self.slip if slips else ''
        if slip == 'forgets a module':
            return
        self.hold(module, self.family.module_for - 400 if slip == 'holds a module too briefly' else None)
        wanted = channel + (slip == 'one press too many') + (7 if slip == 'same channel twice' else 0)
        if slip == 'same channel twice':
            wanted = 1 if channel > 1 else channel
        if slip == 'is away too long':
            self.step(f'wait: {max(self.family.plate_time_out, self.family.module_time_out) + 2000}ms')
        if slip == 'presses a module out of setup':
            self.step(f'press: {module} {self.family.local}')
        while self.channel != wanted:
            way = 'next' if self.channel < wanted else 'previous'
            self.step(f'press: {plate} {self.button[way]}')
            self.channel += 1 if way == 'next' else -1
        if slip == 'caretaker ends setup':
            self.step(f'power: {{{plate}: off}}')
            self.step(f'power: {{{plate}: on}}')
        if slip == 'link open':
            self.step(f'fault: {{open: {plate}-{module}}}')
        if slip != 'leaves a module in setup':
            self.step(f'hold: {plate} {self.button["assign"]}')
            self.lines.append('      for: 25ms')  # so that the hand is free while the module writes
            if slip == 'power cut in the write':
                self.step(f'power: {{{module}: off}}')
                self.step('wait: 3s')
                self.step(f'power: {{{module}: on}}')
            self.step('wait: 1s')

    def text(self, added=()):
        lines = ['drybus: 1', f'title: One slip {self.seed}', f'family: {self.family_name}', f'seed: {self.seed}',
                 'people: {press: 120ms, pause: 5ms}', 'site:', '  plates:']
        lines += [f'    {name}: {{switches: {{site: {p["site"]}, zone: {p["zone"]}}}}}' for name, p in self.set_plates.items()]
        lines.append('  modules:')
        for name, (plate, channel) in self.modules.items():
            numbers = self.plates[plate]
            lines.append(f'    {name}: {{intended: {numbers["site"]}/{numbers["zone"]}/{channel}}}')
        if self.family.wired:
            links = [f'P1-{m}' for m in self.modules] + ['P1-P2']
            lines.append('  bus: {tree: [' + ', '.join(links) + ']}')
        else:
            lines.append('  bus: {radio: all}')
        return '\n'.join([*lines, 'script:', *self.lines, '    - wait: 3s', *added]) + '\n'
