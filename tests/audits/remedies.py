#!/usr/bin/env python3
"""remedies.py PROGRAM SOURCE FIRST COUNT: carries out what each finding that is still open advises, and runs that.

Each install has one slip or fault, so that one remedy is enough to be fair to it.

The words of the remedy alone are followed, as a person would who reads them: the devices, buttons and numbers are those that it
names. Afterwards the finding must be over, nothing of the moment (a press misread, an offer unheard) may have been found anew, and when all is
carried out nothing may be left.
"""
import collections
import re
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

import one_slip
import random_site

MOMENTARY = {'press-misread', 'assign-unheard', 'telegram-lost', 'write-lost', 'powers-up-lit', 'blip-asleep'}
SETUP = re.compile(r'[Hh]old (\w+) ([\w+]+) for ([\d.]+) s')


class Hands:
    """Steps that a remedy asks for, as YAML at the end of the installer's script."""

    def __init__(self, site, told):
        self.site, self.family, self.told = site, site.family, told
        self.lines = []
        self.button = {word: button for button, word in self.family.meaning.items()}

    def step(self, text):
        self.lines.append(f'    - {text}')

    def hold(self, device, time=None):
        plate = device in self.site.plates
        gesture = ' '.join(sorted(self.family.gesture)) if plate else self.family.local
        time = time or (self.family.gesture_for if plate else self.family.module_for)
        self.step(f'hold: {device} {gesture}')
        self.lines.append(f'      for: {time + 300}ms')

    def press(self, device, button):
        self.step(f'press: {device} {button}')

    def in_setup(self, device):
        return self.told['devices'][device]['mode'] == 'setup'

    def wait(self, text='2s'):
        self.step(f'wait: {text}')

    def switches(self, plate, **numbers):
        """With the supply of all of ours isolated, as the remedy says: every setup is over then."""
        self.step('power: off')
        self.step(f'switches: {{{plate}: {{' + ', '.join(f'{what}: {n}' for what, n in numbers.items()) + '}}')
        self.step('power: on')
        self.wait()

    def address(self, plate, module, channel, fresh=False):
        if fresh or not self.in_setup(plate):
            self.hold(plate)
            channel_now = 0
        else:
            channel_now = self.told['devices'][plate]['channel']
        for _ in range(max(0, channel - channel_now)):
            self.press(plate, self.button['next'])
        for _ in range(max(0, channel_now - channel)):
            self.press(plate, self.button['previous'])
        if fresh or not self.in_setup(module):
            self.hold(module)
        self.press(plate, self.button['assign'])
        self.wait()
        self.press(plate, self.button['leave'])
        self.wait()


def carry_out(hands, finding):
    """False where the remedy is none that hands can follow here."""
    remedy, kind, who = finding['remedy'], finding['id'], finding['devices']
    words = re.search(r'hold (\w+) [\w+ ]+ for [\d.]+ s, step it to channel (\d+), hold (\w+) ', remedy)
    if kind == 'setup-split':
        first = SETUP.search(remedy).group(1)
        hands.hold(first)
        return True
    if re.search(r'Check the bus from|too much lies between|Join ', remedy):
        for link in re.findall(r'open: (\S+)}', '\n'.join(hands.site.lines)):
            hands.step(f'fault: {{mend: {link}}}')
        if kind == 'out-of-reach':
            return True
    if words:
        hands.address(words.group(1), words.group(3), int(words.group(2)))
        return True
    if kind == 'two-plates-in-setup' and (out := re.search(r'Take ([\w, ]+?) out of setup', remedy)):
        for plate in re.findall(r'P\d', out.group(1)):
            hands.press(plate, hands.button['leave'])
        hands.wait()
        return True
    if kind == 'zone-zero':
        hands.switches(who[0], zone=1)
        return True
    if kind == 'factory-site':
        hands.switches(who[0], site=next(n for n in hands.family.sites if n not in hands.site.numbers and n > 1))
        return True
    switches = re.search(r"set (a plate|\w+)'s switches to site (\d+), zone (\d+), .* assign channel (\d+)", remedy)
    if kind in ('wrong-address', 'unaddressed', 'write-lost') and switches:
        site, zone, channel = map(int, switches.groups()[1:])
        plate = switches.group(1) if switches.group(1) in hands.site.plates else 'P1'
        hands.switches(plate, site=site, zone=zone)
        hands.address(plate, who[0], channel, fresh=True)
        return True
    only_set = re.search(r"[Ss]et (a plate|\w+)'s switches to site (\d+), zone (\d+)\.", remedy)
    if kind == 'orphan-address' and only_set:
        plate = only_set.group(1) if only_set.group(1) in hands.site.plates else 'P1'
        hands.switches(plate, site=int(only_set.group(2)), zone=int(only_set.group(3)))
        return True
    if kind == 'shared-address' and (out := SETUP.search(remedy)):
        # The plate of the address, and a channel that nobody holds.
        site, zone, _ = map(int, hands.told['devices'][who[0]]['address'].split('/'))
        plate = next((p for p in hands.site.plates if (hands.told['devices'][p]['site'], hands.told['devices'][p]['zone']) == (site, zone)), None)
        if plate is None:
            return False
        hands.address(plate, out.group(1), 9)
        return True
    return False


def open_findings(told):
    return [each for each in told['findings'] if each['until_s'] is None]


def key(finding):
    return finding['id'], finding['devices'][0]


class Audit:
    def __init__(self, program):
        self.program, self.wrong = program, []
        self.tally, self.skipped, self.clean = collections.Counter(), collections.Counter(), collections.Counter()

    def one(self, seed):
        site = one_slip.OneSlip(self.program.families, seed)
        added = []
        told = self.run(site, added)
        if not told:
            return self.complain(site, 'cannot be run')
        if site.slip == 'none' and told['findings']:
            self.complain(site, 'nothing is wrong, and yet ' + ', '.join(each['id'] for each in told['findings']))
        if site.slip != 'none' and not told['findings']:
            self.clean[site.slip] += 1
        for _ in range(25):
            finding = self.next_to_mend(told)
            if not finding:
                break
            told = self.mend(site, told, finding, added)
            if not told:
                return None
        left = open_findings(told)
        if left:
            self.complain(site, 'when all was carried out, there still was ' + ', '.join(f'{each["id"]} {each["devices"]}' for each in left))
        return None

    def run(self, site, added):
        return self.program.json('run', self.program.write(f'r{site.seed}.yaml', site.text(added)))

    @staticmethod
    def next_to_mend(told):
        """First that who waits is served, then wiring and switches, then addresses."""
        order = ['setup-split', 'two-plates-in-setup', 'out-of-reach', 'zone-zero', 'factory-site', 'wrong-address', 'unaddressed',
                 'orphan-address', 'shared-address']
        left = sorted(open_findings(told), key=lambda each: order.index(each['id']) if each['id'] in order else -1)
        return left[0] if left else None

    def mend(self, site, told, finding, added):
        hands = Hands(site, told)
        if not carry_out(hands, finding):
            self.skipped[finding['id']] += 1
            self.complain(site, f'nobody can carry out "{finding["remedy"][:200]}" of {finding["id"]}')
            return None
        self.tally[finding['id']] += 1
        added += hands.lines
        cured = self.run(site, added)
        said = f'{finding["id"]} of {finding["devices"]}, "{finding["remedy"][:200]}"'
        if not cured:
            return self.complain(site, said + ': what it says cannot be run')
        if any(key(each) == key(finding) and each['at_s'] == finding['at_s'] for each in open_findings(cured)):
            self.complain(site, said + ': it is still there')
            return None
        # What somebody does afterwards can show what a press before it had been meant for; that is not what the remedy made.
        isolated = any('power: off' in line for line in hands.lines)
        new = sorted(f'{each["id"]} {each["devices"][0]}' for each in cured['findings']
                     if each['id'] in MOMENTARY and each['at_s'] >= told['ended_at_s'] and not
                     (isolated and each['id'] == 'powers-up-lit'))
        if new:
            self.complain(site, said + ': new: ' + ', '.join(new))
        return cured

    def complain(self, site, text):
        self.wrong.append(f'seed {site.seed} ({site.slip}): {text}')


def main():
    program, source, first, count = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        audit = Audit(random_site.Program(program, source, folder))
        list(pool.map(audit.one, range(first, first + count)))
    print('carried out: ' + ', '.join(f'{n} {what}' for what, n in sorted(audit.tally.items())))
    print('left alone:  ' + ', '.join(f'{n} {what}' for what, n in sorted(audit.skipped.items())))
    print('no finding:  ' + ', '.join(f'{n} {what}' for what, n in sorted(audit.clean.items())))
    for text in audit.wrong[:25]:
        print(text)
    print(f'{len(audit.wrong)} wrong')
    return 1 if audit.wrong else 0


if __name__ == '__main__':
    sys.exit(main())
