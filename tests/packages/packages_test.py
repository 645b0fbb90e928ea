#!/usr/bin/env python3
"""Packs drybus, unpacks the packages into an empty root, adds the libraries that they depend on, and works in there.

usage: packages_test.py BUILD SOURCE
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

BUILD, SOURCE = (pathlib.Path(word).resolve() for word in sys.argv[1:3])


def run(*command, **more):
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, check=False, **more)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, command))}\n{done.stdout}{done.stderr}\nended with {done.returncode}")
    return done.stdout


def check(holds, what):
    if not holds:
        sys.exit(f"not so: {what}")


def packed(folder):
    """The packages by name."""
    day = re.search(r"^## .* - (.*)$", (SOURCE / "tools/CHANGELOG.md").read_text(), re.M).group(1)
    epoch = run("date", "-u", "-d", day, "+%s").strip()
    os.umask(0o022)
    run("cpack", "-B", folder, cwd=BUILD, env={**os.environ, "SOURCE_DATE_EPOCH": epoch})
    return {run("dpkg-deb", "-f", deb, "Package").strip(): deb for deb in sorted(folder.glob("*.deb"))}


def owner_of(path):
    """The package that a file comes with. Some know it by its place before / and /usr were joined."""
    for place in (str(path), str(path).removeprefix("/usr")):
        done = subprocess.run(["dpkg", "-S", place], capture_output=True, text=True, check=False)
        if done.returncode == 0:
            return done.stdout.split(":")[0]
    sys.exit(f"no package has {path}")


def add_libraries(root, program, depends):
    """Each shared library that the program needs, and that each comes with a package that it depends on, at some remove."""
    direct = re.findall(r"\(NEEDED\).*\[(.*)\]", run("readelf", "-d", program))
    for line in run("ldd", program).splitlines():
        found = re.search(r"(/\S+)", line)
        if not found:
            continue
        library = pathlib.Path(found.group(1))
        target = root / library.relative_to("/")
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(library.resolve(), target)
        if library.name in direct and not library.name.startswith("ld-"):
            real = library.resolve()
            owner = owner_of(real)
            provides = names_in(run("dpkg-query", "-W", "-f", "${Provides}", owner))
            check(depends & {owner, *provides}, f"{library.name} comes with {owner}, which drybus depends on ({sorted(depends)})")


def names_in(field):
    return {word.split()[0] for word in re.split(r"[,|]\s*", field) if word.strip()}


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        packages = packed(folder / "packages")
        check({"drybus", "drybus-data", "drybus-dev"} <= set(packages), f"there are {sorted(packages)}")
        again = packed(folder / "again")
        for each, deb in packages.items():
            check(deb.read_bytes() == again[each].read_bytes(), f"{each} packed twice is the same")
            print(f"{deb.name}: {deb.stat().st_size / 1e6:.2f} MB, installed {run('dpkg-deb', '-f', deb, 'Installed-Size').strip()} kB")
            listing = run("dpkg-deb", "-c", deb)
            check(str(SOURCE) not in listing, f"{each} names no folder of whoever packed it")
            for line in listing.splitlines():
                check(re.match(r"(d|-)rwxr-xr-x|-rw-r--r--|lrwxrwxrwx", line), f"rights that anybody expects: {line}")
                check("root/root" in line, f"owned by root: {line}")
        root = folder / "root"
        for each in ("drybus", "drybus-data", "drybus-dev"):
            run("dpkg-deb", "-x", packages[each], root)
        program = root / "usr/bin/drybus"
        add_libraries(root, program, names_in(run("dpkg-deb", "-f", packages["drybus"], "Depends")))
        (root / "tmp").mkdir()
        (root / "opt").mkdir()
        (root / "opt/bus").symlink_to("/usr/bin/drybus")
        shutil.copy(root / "usr/share/drybus/training/press-misread.yaml", root / "tmp/mine.yaml")

        def inside(where, *words, code=0, **environment):
            """Within the root there is nothing but the packages and the libraries: no shell, no /proc but what is given."""
            script = 'mount -t proc proc "$0/proc" && exec chroot "$0" "$@"'
            (root / "proc").mkdir(exist_ok=True)
            (root / "dev").mkdir(exist_ok=True)
            done = subprocess.run(
                ["unshare", "-r", "-m", "-p", "-f", "sh", "-c", script, root, *words], capture_output=True, text=True,
                check=False, env={"PATH": "/usr/bin:/usr/sbin:/bin:/sbin", **environment}, cwd="/")
            check(done.returncode == code, f"{words} ends with {code}: {done.returncode}\n{done.stdout}{done.stderr}")
            return done.stdout + done.stderr

        version = inside("/", "/usr/bin/drybus", "--version")
        check(re.match(r"drybus \d+\.\d+\.\d+\nbuild [0-9a-f]{12} \(.*\)\nfirmware interface \d+\.\d+ ", version), version)
        told = inside("/", "/usr/bin/drybus", "check", "/usr/share/drybus/training")
        check(re.search(r"(\d+) scenarios: \1 passed, 0 failed", told), told)
        check("passed" in inside("/", "/opt/bus", "run", "/tmp/mine.yaml", "-q"), "a scenario elsewhere, through a link")
        families = root / "opt/families"
        families.mkdir()
        shutil.copy(root / "usr/share/drybus/families/wired-keypad.yaml", families / "of-mine.yaml")
        inside("/", "/usr/bin/drybus", "family", "of-mine", code=2)
        inside("/", "/usr/bin/drybus", "family", "of-mine", DRYBUS_FAMILIES="/nowhere:/opt/families")
        for path in ("usr/share/man/man1/drybus.1", "usr/share/man/man1/drybus-site-new.1",
                     "usr/share/bash-completion/completions/drybus", "usr/share/zsh/vendor-completions/_drybus",
                     "usr/share/fish/vendor_completions.d/drybus.fish", "usr/include/drybus/firmware.h",
                     "usr/lib/cmake/drybus/drybusConfig.cmake", "usr/lib/pkgconfig/drybus.pc"):
            check((root / path).is_file(), f"{path} is there")
        check("prefix=/usr\n" in (root / "usr/lib/pkgconfig/drybus.pc").read_text(), "drybus.pc says /usr")
    print("packed, unpacked and run in a root of its own")


if __name__ == "__main__":
    main()
