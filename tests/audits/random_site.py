"""Random scenarios for the audits: those of the second model, with intended addresses, labels, and looks that were not asked for.

Whatever is drawn follows from the seed alone. Labels may be as nasty as YAML allows.
"""
import json
import os
import subprocess
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', 'second_model'))
import agree  # noqa: E402
import devices  # noqa: E402

HOSTILE = ['Hall & stairs <b>', 'say "no"', "O'Dell", '100 % \\ off', 'a: b', '- dash', '# hash', '{x}', '[y]', '*star', '&and', '!bang',
           '| pipe', '> more', 'tab\there', 'Küche', '灯', 'null', 'yes', '0x10', '1e3', '2026-11-29', '`tick`', '$(id)', '%s%n', ' lead', 'trail ',
           'comma, comma', '--help', '../up', '</script>', ']]>', '<!--', '😀', 'x' * 60]


class Site(agree.Script):
    """One random scenario; everybody has buttons to themselves."""

    weights = {deed: weight for deed, weight in agree.DEEDS.items() if deed not in ('two hands', 'stuck')}

    def __init__(self, families, seed, hostile=False):
        name = sorted(families)[seed % len(families)]
        self.hostile = hostile
        super().__init__(name, families[name], seed)

    def make_site(self):
        super().make_site()
        draw = self.draw
        for told in self.modules.values():
            if draw.random() < .6:
                plate = draw.choice(list(self.plates.values()))
                told['intended'] = (plate['site'], max(1, plate['zone']), draw.randint(1, 6))
        self.labels = {name: draw.choice(HOSTILE) for name in [*self.plates, *self.modules]} if self.hostile else {}

    def site_text(self):
        lines = super().site_text()
        told = []
        for line in lines:
            name = line.strip().split(':')[0]
            if name in self.modules and 'intended' in self.modules[name]:
                intended = '/'.join(map(str, self.modules[name]['intended']))
                line = line.replace('{', f'{{intended: {intended}' + (', ' if '{}' not in line else ''), 1)
            if name in self.labels and line.startswith('    '):
                line = line.replace('{', '{label: ' + json.dumps(self.labels[name], ensure_ascii=False) + (', ' if '{}' not in line else ''), 1)
            told.append(line)
        return told

    def scenario(self, left_out=(), added=''):
        """The scenario without some of its deeds, by their place in `self.deeds`; and with steps of the installer's at its end."""
        kept = self.deeds
        self.deeds = [deed for place, deed in enumerate(kept) if place not in left_out]
        self.probes, probes = [], self.probes
        text = self.text([])
        self.deeds, self.probes = kept, probes
        return text + added


class Program:
    """The program under audit, and the folder in which it works."""

    def __init__(self, program, source, folder):
        self.program, self.folder = os.path.abspath(program), folder
        families = os.path.join(source, 'scenarios', 'families')
        self.env = dict(os.environ, DRYBUS_FAMILIES=os.path.abspath(families), NO_COLOR='1', LC_ALL='C.UTF-8')
        names = sorted(name[:-5] for name in os.listdir(families) if name.endswith('.yaml'))
        self.families = {name: devices.Family(os.path.join(families, name + '.yaml')) for name in names if name in ('radio-keypad', 'wired-keypad')}

    def path(self, name):
        return os.path.join(self.folder, name)

    def write(self, name, text):
        with open(self.path(name), 'w', encoding='utf-8') as file:
            file.write(text)
        return self.path(name)

    def run(self, *words, timeout=600):
        """The exit code and both outputs; what ends by a signal or hangs is told as such."""
        try:
            ran = subprocess.run([self.program, *words], capture_output=True, env=self.env, timeout=timeout, cwd=self.folder, check=False)
        except subprocess.TimeoutExpired:
            return 'hangs', '', ''
        return ran.returncode, ran.stdout.decode('utf-8', 'replace'), ran.stderr.decode('utf-8', 'replace')

    def json(self, *words):
        code, out, _ = self.run(*words, '--format', 'json')
        return json.loads(out) if code in (0, 1) and out else None
