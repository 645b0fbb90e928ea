#!/usr/bin/env python3
"""Types a command line into an interactive zsh in a terminal, presses Tab, and prints what the line has become and what is offered.

usage: press_tab.py FOLDER-WITH-_drybus PROGRAM TYPED
"""
import os
import pty
import re
import select
import sys
import tempfile
import time

FOLDER, PROGRAM, TYPED = sys.argv[1:4]
READY = "ready-for-it"
TOLD = "all-is-told"
MARK = b"\x18m"
GUARD = 240  # seconds; against hanging, no measure


def read_until(terminal, wanted, seconds):
    text, until = "", time.monotonic() + seconds
    while wanted not in text and time.monotonic() < until:
        if select.select([terminal], [], [], 0.1)[0]:
            try:
                text += os.read(terminal, 65536).decode(errors="replace")
            except OSError:
                break
    return text


def main():
    with tempfile.TemporaryDirectory() as home:
        child, terminal = pty.fork()
        if child == 0:
            path = os.path.dirname(PROGRAM) + ":" + os.environ["PATH"]
            os.execvpe("zsh", ["zsh", "-f", "-i"], {"HOME": home, "TERM": "dumb", "PATH": path, "PS1": "", "LANG": "C.UTF-8"})
        setup = (f"fpath=({FOLDER} $fpath); autoload -Uz compinit; compinit -u -D; unsetopt zle_bracketed_paste; "
                 f"zstyle ':completion:*' list-prompt ''; LISTMAX=0; PS1=''; told() {{ print -n {TOLD[:5]}''{TOLD[5:]} }}; zle -N told; "
                 f"bindkey '^Xm' told; echo {READY[:5]}''{READY[5:]}\n")
        os.write(terminal, setup.encode())
        read_until(terminal, READY, GUARD)
        # Tab completes; the shell takes the key after it when that is over.
        os.write(terminal, TYPED.encode() + b"\t")
        time.sleep(0.2)
        os.write(terminal, MARK)
        text = read_until(terminal, TOLD, GUARD).replace(TOLD, "")
        os.write(terminal, b"\x03exit\n")
        os.close(terminal)
        os.waitpid(child, 0)
    text = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]|[\x07\r]", "", text)
    # What was typed is echoed, too: only what came of the key counts.
    print(text.replace(TYPED, TYPED.rsplit(" ", 1)[1], 1))


if __name__ == "__main__":
    main()
