"""A run's capture, read by capinfos and tshark, without and with the dissector, against the run's record."""
import os
import re

from readers import SOURCE, call, check, drybus, folder, need, read_record, scenario

need("capinfos", "tshark")

COLLISION, NOISE, NO_PATH, UNPOWERED, CUT_SHORT = range(5)


def sent_telegrams(record):
    """What the record says of every transmission, in order."""
    sent, by_end = [], {}
    for entry in record:
        packed = [entry["b"] >> 8 * n & 255 for n in range(5)]
        if entry["kind"] == "sent":
            sent.append({"at_ns": entry["at_ns"], "who": entry["who"], "packed": packed, "id": entry["id"], "lost": []})
        elif entry["kind"] == "sent-whole":
            by_end[entry["id"]] = next(t for t in reversed(sent) if t["id"] == entry["cause"])
        elif entry["kind"] == "lost" and entry["cause"] in by_end:
            by_end[entry["cause"]]["lost"].append((entry["who"], entry["a"] >> 16))
    return sent


def nanoseconds(text):
    seconds, fraction = text.split(".")
    check(len(fraction) == 9, f"tshark shows no nanoseconds: {text}")
    return int(seconds) * 10**9 + int(fraction)


def tshark(path, fields, *more):
    columns = [argument for field in fields for argument in ("-e", field)]
    return [line.split("\t") for line in call(["tshark", *more, "-r", path, "-T", "fields", *columns]).splitlines()]


def check_capture(path, record, name):
    sent = sent_telegrams(record)
    count = call(["capinfos", "-c", "-M", "-r", path])
    check(int(re.search(r"(\d+)\s*$", count)[1]) == len(sent), f"{name}: capinfos counts otherwise: {count}")

    plain = tshark(path, ["frame.time_epoch", "frame.comment", "frame.interface_name"])
    check(len(plain) == len(sent), f"{name}: tshark shows {len(plain)} packets of {len(sent)}")
    for (time, comment, bus), telegram in zip(plain, sent):
        check(nanoseconds(time) == telegram["at_ns"], f"{name}: {time} is not {telegram['at_ns']} ns")
        check(telegram["who"] in comment and bus == "bus", f"{name}: '{comment}' on '{bus}'")
        for who, _ in telegram["lost"][:6]:
            check(who in comment, f"{name}: {who} missed it, and '{comment}' does not say so")

    script = "lua_script:" + os.path.join(SOURCE, "tools", "export", "dissector.lua")
    fields = ["sender_name", "kind", "site", "zone", "channel", "argument", "crc_fits", "collided"]
    dissected = tshark(path, ["drybus." + field for field in fields] + ["_ws.malformed"], "-X", script)
    for row, telegram in zip(dissected, sent):
        collided = any(loss == COLLISION for _, loss in telegram["lost"])
        wanted = [telegram["who"], *map(str, telegram["packed"]), "1", "1" if collided else "0", ""]
        check(row == wanted, f"{name}: dissected as {row}, sent as {wanted}")
    return len(sent)


with folder() as here:
    total = 0
    for name in ("setup-split", "telegram-lost", "first-steps", "out-of-reach", "same-number-next-door"):
        path, record = os.path.join(here, name + ".pcapng"), os.path.join(here, name + ".jsonl")
        drybus("run", scenario(name), "-q", "--pcapng", path, "--record", record)
        total += check_capture(path, read_record(record), name)
    script = "lua_script:" + os.path.join(SOURCE, "tools", "export", "dissector.lua")
    split = os.path.join(here, "setup-split.pcapng")
    shown = call(["tshark", "-X", script, "-r", split, "-Y", 'drybus.kind == "assign"'])
    check("assign 23/4/1" in shown and len(shown.splitlines()) == 1, f"a display filter finds:\n{shown}")
print(f"capinfos and tshark read {total} telegrams of five captures as recorded; the dissector names them")
