#!/usr/bin/env python3
"""causes.py PROGRAM SOURCE FIRST COUNT: what `why` says of random scenarios, tried out by leaving steps out of the file.

Every cause that is a step somebody did is left out: the fact must come out as `why` said. Of every "no single change", each step
of the installer's is left out alone: none may give the fact that value. No question may end the program by a signal.
"""
import random
import re
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

import random_site

FACTS = {'P': ['mode', 'channel'], 'M': ['mode', 'address', 'level', 'power_up']}
OTHER = {'mode': ['setup', 'normal'], 'channel': ['0', '1', '2'], 'level': ['0%', '100%', '50%'], 'power_up': ['off', 'full', 'last']}


def value_of(told, device, fact):
    state = told['devices'][device]
    if fact == 'address':
        return state['address'] or 'none'
    return f'{state["level"]:g} %' if fact == 'level' else str(state[fact])


def place_of_step(site, text, line):
    """Which of the deeds stands at a line of the file; None for what is no deed."""
    lines = text.split('\n')
    at = next((i for i in range(line - 1, len(lines)) if lines[i].strip().startswith('at: ')), None)
    if at is None:
        return None
    begin = int(re.search(r'(\d+)ms', lines[at]).group(1))
    found = [place for place, deed in enumerate(site.deeds) if deed[0] == begin]
    return found[0] if len(found) == 1 else None


class Audit:
    def __init__(self, program):
        self.program = program
        self.tally = {'questions': 0, 'causes': 0, 'left out': 0, 'no change': 0, 'removals': 0, 'sets': 0}
        self.wrong = []

    def fact_of(self, name, text, device, fact):
        """As the run ends; what is left out must not make the run any shorter."""
        told = self.program.json('run', self.program.write(name, text))
        return value_of(told, device, fact) if told else None

    def one(self, seed):
        site = random_site.Site(self.program.families, seed)
        draw = random.Random(seed)
        text = self.lasting(site)
        path = self.program.write(f's{seed}.yaml', text)
        for _ in range(3):
            device = draw.choice([*site.plates, *site.modules])
            fact = draw.choice(FACTS[device[0]])
            self.ask(site, seed, path, text, device, fact, draw)
        return self

    @staticmethod
    def lasting(site, left_out=()):
        """With somebody who looks on to the end, so that it does not matter for the length what is left out."""
        return site.scenario(left_out, f'    - note: The end\n      at: {site.ends}ms\n')

    def ask(self, site, seed, path, text, device, fact, draw):
        self.tally['questions'] += 1
        asked = f'{device}.{fact}'
        again = f'seed {seed}: why {asked}'
        code, out, err = self.program.run('why', path, asked, '--prove', '--format', 'json')
        if code not in (0, 1):
            return self.complain(f'{again}: exit {code}: {err[:200]}')
        told = random_site.json.loads(out)
        for cause in told['causes']:
            self.tally['causes'] += 1
            if cause['proved'] is False:
                self.complain(f'{again}: not proved: {cause["text"]}')
            if cause['line'] is None or 'reasons taken away' in str(cause['otherwise']) or told['reasons'] > 1:
                continue
            if not re.match(r'had .* not been (pressed|held|switched)|had .* been left alone', cause['otherwise']):
                continue
            place = place_of_step(site, text, cause['line'])
            if place is None:
                continue
            self.tally['left out'] += 1
            would_be = self.fact_of(f'c{seed}.yaml', self.lasting(site, {place}), device, fact)
            if would_be != cause['would_be']:
                self.complain(f'{again}: without line {cause["line"]} it would be {cause["would_be"]}, it is said; it is {would_be}')
        for each in told.get('sets', []):
            self.tally['sets'] += 1
            if each['proved'] is False:
                self.complain(f'{again}: a set is not proved')
        if fact in OTHER:
            self.ask_why_not(site, seed, path, device, fact, draw.choice(OTHER[fact]))

    def ask_why_not(self, site, seed, path, device, fact, value):
        again = f'seed {seed}: why {device}.{fact} --not {value}'
        code, out, err = self.program.run('why', path, f'{device}.{fact}', '--not', value, '--format', 'json')
        if code not in (0, 1):
            if code != 2 or not err:
                self.complain(f'{again}: exit {code}')
            return
        told = random_site.json.loads(out)
        if told['already'] or told['change']:
            return
        self.tally['no change'] += 1
        wanted = value.replace('%', ' %')
        for place, deed in enumerate(site.deeds):
            if deed[1] != 'installer':
                continue
            self.tally['removals'] += 1
            if self.fact_of(f'n{seed}.yaml', self.lasting(site, {place}), device, fact) == wanted:
                self.complain(f'{again}: no single change, it says; but without {deed[2]} at {deed[0]} ms it is so')

    def complain(self, text):
        self.wrong.append(text)


def main():
    program, source, first, count = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        audit = Audit(random_site.Program(program, source, folder))
        list(pool.map(audit.one, range(first, first + count)))
    print(', '.join(f'{count} {what}' for what, count in audit.tally.items()))
    for text in audit.wrong[:20]:
        print(text)
    print(f'{len(audit.wrong)} wrong')
    return 1 if audit.wrong else 0


if __name__ == '__main__':
    sys.exit(main())
