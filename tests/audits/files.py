#!/usr/bin/env python3
"""files.py PROGRAM SOURCE FIRST COUNT: what every command writes of random scenarios with hostile labels, read by the others.

Exit codes are 0, 1 or 2, and 2 has a message; nothing ends by a signal or hangs. JSON is JSON, SVG
is well-formed, what is a scenario can be run and checked, what is a capsule or a record can be read again.
"""
import collections
import json
import os
import re
import sys
import tempfile
import xml.dom.minidom
from concurrent.futures import ThreadPoolExecutor

import random_site


class Audit:
    def __init__(self, program):
        self.program, self.wrong, self.tally = program, [], collections.Counter()

    def call(self, seed, *words):
        code, out, err = self.program.run(*words)
        self.tally[words[0]] += 1
        said = f'seed {seed}: drybus ' + ' '.join(words)
        if code not in (0, 1, 2):
            self.wrong.append(f'{said}: {code} {err[:200]}')
        if code == 2 and not err.strip() and words[0] != 'check':
            self.wrong.append(f'{said}: exit 2 without a message')
        if re.search('[\x00-\x08\x0b-\x1f\x7f]', out + err):
            self.wrong.append(f'{said}: control characters')
        if '--format' in words and words[words.index('--format') + 1] == 'json' and code in (0, 1):
            self.look_at_json(said, out)
        return code, out, err

    def look_at_json(self, said, out):
        try:
            json.loads(out)
        except ValueError as error:
            return self.wrong.append(f'{said}: no JSON: {error}')
        return None

    def path(self, seed, name):
        return self.program.path(f'{seed}-{name}')

    def reads(self, seed, what, path, *commands):
        """A file that a command wrote, given to others: they must be able to use it."""
        if not os.path.exists(path):
            return
        self.tally[what] += 1
        for words in commands:
            code, _, err = self.call(seed, *words)
            if code == 2:
                self.wrong.append(f'seed {seed}: {what} cannot be used by {" ".join(words)}: {err[:300]}')

    def one(self, seed):
        site = random_site.Site(self.program.families, seed, hostile=True)
        file = self.program.write(f'{seed}.yaml', site.scenario(added=f'    - note: "{seed}"\n      at: {site.ends}ms\n'))
        told = self.call(seed, 'run', file, '--format', 'json')
        if told[0] == 2:
            return self.wrong.append(f'seed {seed}: {told[2][:300]}')
        for form in ('text', 'markdown'):
            self.call(seed, 'run', file, '--format', form)
        self.look_at_pictures(seed, file)
        self.look_at_runs(seed, file)
        self.look_at_scenarios(seed, file, site, json.loads(told[1]))
        return None

    def look_at_pictures(self, seed, file):
        for name in ('a.svg', 'b.html'):
            code, _, err = self.call(seed, 'draw', file, '-o', self.path(seed, name))
            if code != 0:
                self.wrong.append(f'seed {seed}: draw {name}: {err[:200]}')
        try:
            xml.dom.minidom.parse(self.path(seed, 'a.svg'))
        except (OSError, xml.parsers.expat.ExpatError) as error:
            self.wrong.append(f'seed {seed}: the picture is not well-formed: {error}')

    def look_at_runs(self, seed, file):
        for option, name in (('--capsule', 'c.capsule'), ('--record', 'c.jsonl'), ('--pcapng', 'c.pcapng'), ('--vcd', 'c.vcd')):
            path = self.path(seed, name)
            code, _, err = self.call(seed, 'run', file, option, path)
            if code == 2:
                self.wrong.append(f'seed {seed}: run {option}: {err[:200]}')
                continue
            if option == '--capsule':
                self.reads(seed, 'a capsule', path, ('run', path), ('check', path), ('draw', path, '-o', self.path(seed, 'd.svg')),
                           ('why', path, 'M1.mode'), ('diff', path, file))
            elif option == '--record':
                with open(path, encoding='utf-8') as lines:
                    for line in lines:
                        self.look_at_json(f'seed {seed}: the record', line)

    def look_at_scenarios(self, seed, file, site, told):
        unaddressed = [name for name in site.modules if told['devices'][name]['address'] is None]
        name = (unaddressed or list(site.modules))[0]
        uses = lambda path: (('run', path), ('check', path), ('draw', path, '-o', self.path(seed, 'e.svg')), ('why', path, f'{name}.address'))
        other = self.path(seed, 'other.yaml')
        self.call(seed, 'why', file, f'{name}.address', '--prove', '--format', 'json')
        self.call(seed, 'why', file, f'{name}.mode', '--not', 'setup', '-o', other)
        self.reads(seed, 'what why --not wrote', other, *uses(other))
        cure = self.path(seed, 'cure.yaml')
        self.call(seed, 'recover', file, '-o', cure)
        self.reads(seed, 'a cure', cure, *uses(cure))
        if told['findings']:
            found = told['findings'][0]['id']
            self.call(seed, 'why', file, found)
            small = self.path(seed, 'small.yaml')
            self.call(seed, 'shrink', file, '--for', found, '-o', small)
            self.reads(seed, 'what shrink wrote', small, *uses(small)[:3])  # the device may be gone
        broken = self.path(seed, 'broken.yaml')
        self.call(seed, 'hunt', file, '--for', 'press-misread', '--depth', '3', '--states', '3000', '-o', broken)
        self.reads(seed, 'what hunt wrote', broken, *uses(broken))
        for command in (('check', file), ('sweep', file, '--runs', '5', '--format', 'json'), ('diff', file, file, '--format', 'json')):
            self.call(seed, *command)


def main():
    program, source, first, count = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        audit = Audit(random_site.Program(program, source, folder))
        list(pool.map(audit.one, range(first, first + count)))
    print(', '.join(f'{n} {what}' for what, n in sorted(audit.tally.items())))
    for text in audit.wrong[:25]:
        print(text)
    print(f'{len(audit.wrong)} wrong')
    return 1 if audit.wrong else 0


if __name__ == '__main__':
    sys.exit(main())
