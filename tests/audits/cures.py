#!/usr/bin/env python3
"""cures.py PROGRAM SOURCE: every training story ends cured, by itself or by what `recover` writes for it.

A story that has "# The cure" goes on to it: when it is over nothing is left to do. Of every other one `recover` writes the
cure as a scenario; that runs, and nothing is left to do after it. In both, whoever opens a cover has isolated everything
before, and that takes its time.
"""
import json
import os
import subprocess
import sys
import tempfile

import yaml

LEAST_ISOLATION_S = 60
# What only happened: when it is over, that it was is still told.
MOMENTARY = {'press-misread', 'assign-unheard', 'telegram-lost', 'write-lost', 'powers-up-lit', 'blip-asleep', 'not-understood',
             'master-next-door'}
UNITS = {'h': 3600, 'min': 60, 's': 1, 'ms': .001}


def seconds(text):
    """Of "1.5s", and of "1s 200ms"."""
    return sum(seconds_of_part(part) for part in str(text).split())


def seconds_of_part(text):
    for unit in ('ms', 'min', 'h', 's'):
        if text.endswith(unit):
            return float(text.removesuffix(unit)) * UNITS[unit]
    raise ValueError(text)


def behind_a_cover(step):
    """Switches, buttons and joints are."""
    return 'switches' in step or ('fault' in step and set(step['fault']) & {'free', 'mend'})


def unsafe(path):
    """Steps behind a cover that nothing was isolated for, or not long before."""
    with open(path, encoding='utf-8') as file:
        script = yaml.load(file, yaml.BaseLoader)['script']
    isolated, since, found = False, 0.0, []
    for step in script:
        if step.get('power') in ('off', 'on'):
            isolated, since = step['power'] == 'off', 0.0
        elif 'wait' in step:
            since += seconds(step['wait'])
        elif behind_a_cover(step) and not (isolated and since >= LEAST_ISOLATION_S):
            found.append(f'{step} with the supply on, or no sooner than it went')
    return found


class Cures:
    def __init__(self, program, folder):
        self.program = program
        self.env = dict(os.environ, DRYBUS_FAMILIES=os.path.join(folder, 'families'), NO_COLOR='1')

    def call(self, *words):
        return subprocess.run([self.program, *words], capture_output=True, text=True, env=self.env, timeout=900)

    def end_of(self, path):
        """What is wrong when that scenario is over."""
        ran = self.call('run', path, '--format', 'json')
        if ran.returncode != 0:
            return [f'exit {ran.returncode} of run: {ran.stderr.strip()}']
        told = json.loads(ran.stdout)
        return [f'{finding["id"]} goes on' for finding in told['findings']
                if finding['until_s'] is None and finding['id'] not in MOMENTARY]

    def left_to_do(self, path):
        told = self.call('recover', path)
        return [] if 'Nothing to do' in told.stdout else ['something is left to do: ' + told.stdout + told.stderr]

    def faults_of(self, story, scratch):
        with open(story, encoding='utf-8') as file:
            goes_on = '# The cure' in file.read()
        faults = unsafe(story)
        if goes_on:
            return faults + self.end_of(story) + self.left_to_do(story)
        if not self.left_to_do(story):
            return faults + self.end_of(story)
        cured = os.path.join(scratch, os.path.basename(story))
        written = self.call('recover', story, '-o', cured)
        if not os.path.exists(cured):
            return faults + [f'exit {written.returncode} of recover: {written.stderr.strip()}']
        return faults + unsafe(cured) + self.end_of(cured) + self.left_to_do(cured)


def main():
    program, source = sys.argv[1:3]
    scenarios = os.path.join(source, 'scenarios')
    cures, wrong, count = Cures(program, scenarios), 0, 0
    with tempfile.TemporaryDirectory() as scratch:
        for name in sorted(os.listdir(os.path.join(scenarios, 'training'))):
            count += 1
            for fault in cures.faults_of(os.path.join(scenarios, 'training', name), scratch):
                wrong += 1
                print(f'{name}: {fault}')
    print(f'{count} stories, {wrong} faults')
    return 1 if wrong or count == 0 else 0


if __name__ == '__main__':
    sys.exit(main())
