#!/usr/bin/env python3
"""A Slurm of one node, started and ended by this test: drybus-array runs a sweep on it, one task is killed, and the result is that of
one machine.

usage: slurm_test.py DRYBUS SOURCE
"""
import os
import pathlib
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time

DRYBUS, SOURCE = (pathlib.Path(word).resolve() for word in sys.argv[1:3])
RUNS = "60000"


def free_ports(count):
    sockets = [socket.socket() for _ in range(count)]
    for each in sockets:
        each.bind(("127.0.0.1", 0))
    ports = [each.getsockname()[1] for each in sockets]
    for each in sockets:
        each.close()
    return ports


class Slurm:
    """munged, slurmctld and slurmd of our own: other ports, other sockets, other folders than any that the machine may have."""

    def __init__(self, folder):
        self.folder = folder
        self.started = []
        for name in ("spool", "state", "log"):
            (folder / name).mkdir()
        folder.chmod(0o755)
        controller, node = free_ports(2)
        host = socket.gethostname().split(".")[0]
        (folder / "slurm.conf").write_text("\n".join([
            "ClusterName=tried", f"SlurmctldHost={host}(127.0.0.1)", f"SlurmctldPort={controller}", f"SlurmdPort={node}",
            "SlurmUser=root", "SlurmdUser=root", "AuthType=auth/munge", f"AuthInfo=socket={folder}/munge.socket",
            "CredType=cred/munge", f"StateSaveLocation={folder}/state", f"SlurmdSpoolDir={folder}/spool",
            f"SlurmctldPidFile={folder}/slurmctld.pid", f"SlurmdPidFile={folder}/slurmd.pid",
            "ProctrackType=proctrack/linuxproc", "TaskPlugin=task/none", "JobAcctGatherType=jobacct_gather/none",
            "SelectType=select/cons_tres", "SelectTypeParameters=CR_Core", "SchedulerType=sched/builtin",
            "SwitchType=switch/none", "MpiDefault=none", "ReturnToService=2", "MinJobAge=300", "SchedulerParameters=sched_interval=1",
            f"NodeName={host} NodeAddr=127.0.0.1 CPUs={os.cpu_count()} State=UNKNOWN",
            f"PartitionName=all Nodes={host} Default=YES MaxTime=INFINITE State=UP", ""]))
        self.environment = {**os.environ, "SLURM_CONF": str(folder / "slurm.conf"), "DRYBUS": str(DRYBUS)}

    def start(self, name, *command):
        with open(self.folder / "log" / name, "w", encoding="utf-8") as log:
            self.started.append((name, subprocess.Popen(command, stdout=log, stderr=log, env=self.environment)))

    def __enter__(self):
        key = self.folder / "key"
        key.write_bytes(os.urandom(128))
        key.chmod(0o600)
        self.start("munged", "munged", "--foreground", "--force", f"--key-file={key}", f"--socket={self.folder}/munge.socket",
                   f"--pid-file={self.folder}/munge.pid", f"--seed-file={self.folder}/seed", f"--log-file={self.folder}/log/munge")
        self.wait("munged is there", lambda: (self.folder / "munge.socket").exists())
        self.start("slurmctld", "slurmctld", "-D")
        self.start("slurmd", "slurmd", "-D")
        self.wait("the node is idle", lambda: "idle" in self.ask("sinfo", "-h", "-o", "%t"))
        return self

    def __exit__(self, *_):
        for _, process in reversed(self.started):
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
                try:
                    process.wait(60)
                except subprocess.TimeoutExpired:
                    process.kill()
                    process.wait()

    def ask(self, *command):
        return subprocess.run(command, env=self.environment, capture_output=True, text=True, check=False, cwd=SOURCE).stdout

    def wait(self, what, holds, seconds=240):
        until = time.monotonic() + seconds
        while not holds():
            gone = [name for name, process in self.started if process.poll() is not None]
            if gone or time.monotonic() > until:
                logs = "\n".join(f"--- {path.name}\n{path.read_text(errors='replace')[-2000:]}" for path in (self.folder / "log").iterdir())
                sys.exit(f"in vain: {what} ({', '.join(gone)} ended)\n{logs}\n{self.ask('squeue')}\n{self.ask('sinfo', '-R')}")
            time.sleep(0.05)


def kill_one_task(slurm, number):
    """The first task whose program runs loses it to a signal, as by the kernel for want of memory."""
    killed = []

    def found():
        for path in pathlib.Path("/proc").glob("[0-9]*/cmdline"):
            try:
                words = path.read_bytes().split(b"\0")
                if words[0] == str(DRYBUS).encode() and b"--shard" in words and str(slurm.folder).encode() in b" ".join(words):
                    os.kill(int(path.parent.name), signal.SIGKILL)
                    killed.append(words)
                    return True
            except (OSError, IndexError):
                continue
        return False

    slurm.wait("a task runs", lambda: found() or not slurm.ask("squeue", "-h", "-j", number).strip())
    return bool(killed)


def main():
    words = ["scenarios/training/first-steps.yaml", "--runs", RUNS]
    alone = subprocess.run([DRYBUS, "sweep", *words], cwd=SOURCE, capture_output=True, text=True, check=True).stdout
    with tempfile.TemporaryDirectory() as name, Slurm(pathlib.Path(name)) as slurm:
        begun = time.monotonic()
        shared = pathlib.Path(name) / "a folder"
        done = subprocess.run([SOURCE / "tools/cluster/drybus-array", "3", shared, *words], env=slurm.environment, cwd=SOURCE,
                              capture_output=True, text=True, check=False)
        if done.returncode != 0:
            sys.exit(f"drybus-array ended with {done.returncode}\n{done.stdout}{done.stderr}")
        last = done.stdout.strip()
        killed = kill_one_task(slurm, last)
        slurm.wait("the sum is there", lambda: (shared / "result.txt").exists() or not slurm.ask("squeue", "-h", "-j", last).strip(), 600)
        logs = "\n".join(f"--- {path.name}\n{path.read_text(errors='replace')[-800:]}" for path in sorted((shared / "log").iterdir()))
        if not (shared / "result.txt").exists() or (shared / "result.txt").read_text() != alone:
            sys.exit(f"the sum is not that of one machine\n{logs}\n{slurm.ask('scontrol', 'show', 'job', last)}")
        blocks = len(list((shared / "blocks").iterdir()))
        if blocks != int(RUNS) // 500:
            sys.exit(f"{blocks} blocks were kept")
        if not killed:
            sys.exit("no task could be killed: all were over too soon for this test to say anything of that")
        print(f"an array of 3 tasks, one of them killed, and their sum: {time.monotonic() - begun:.1f} s; byte for byte that of one machine")


if __name__ == "__main__":
    if not shutil.which("slurmctld"):
        sys.exit("slurmctld is missing: tools/packages lists it")
    main()
