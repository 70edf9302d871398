#!/usr/bin/python3
"""Teaches the network of src/speech/enhance.h and prints src/speech/enhance_table.c.

    teach_enhance.py FILE... > src/speech/enhance_table.c

FILEs are gather-parallel's (parallel.h has their form). It learns the difference between the cepstra
wanted and the cleaned ones, each cepstrum measured by its own spread; frames without speech count for
less. Every twentieth utterance is kept from the teaching, and the error that is left there is printed to
standard error, by how loud the noise was, before and after the weights are rounded. Needs Debian's
python3-torch and python3-numpy; seeded, with one thread: the same files give the same digits.
"""
import math
import sys
import time

import numpy as np
import torch

CEPSTRA = 13
AROUND = 6  # enhance_table.h: ENHANCE_AROUND
HIDDEN = 192  # ENHANCE_HIDDEN
HEAD = 3 + 2 * CEPSTRA  # floats of struct parallel_head
FRAME = 1 + 3 * CEPSTRA  # of struct parallel_frame
NOISE, SPEECH = 1, 2  # enum speech_frame of clean.h
PASSES, BATCH, RATE = 5, 512, 1e-3
NO_SPEECH_COUNTS = 0.3
KEPT_EVERY, KEPT = 20, 7


def utterances(paths):
    for path in paths:
        numbers = np.fromfile(path, np.float32)
        at = 0
        while at + HEAD <= len(numbers):
            head = numbers[at:at + HEAD]
            frames = int(head[0])
            at += HEAD
            yield head, numbers[at:at + frames * FRAME].reshape(frames, FRAME)
            at += frames * FRAME


def window(cepstra, rows):
    padded = np.pad(cepstra, ((AROUND, AROUND), (0, 0)), "edge")
    return [padded[rows + k] for k in range(2 * AROUND + 1)]


def read(paths):
    seen, wanted, weight, snr, utterance = [], [], [], [], []
    spread = []
    for head, frames in utterances(paths):
        mean, noise = head[3:3 + CEPSTRA], head[3 + CEPSTRA:]
        kind = frames[:, 0]
        cleaned, reduced, target = (frames[:, 1 + i * CEPSTRA:1 + (i + 1) * CEPSTRA] for i in range(3))
        rows = np.flatnonzero((kind == NOISE) | (kind == SPEECH))
        columns = window(cleaned - mean, rows) + window(reduced - mean, rows)
        columns.append(np.broadcast_to(noise - mean, (len(rows), CEPSTRA)))
        seen.append(np.concatenate(columns, 1).astype(np.float16))
        wanted.append((target - cleaned)[rows])
        spread.append((target - mean)[rows])
        weight.append(np.where(kind[rows] == SPEECH, 1, NO_SPEECH_COUNTS).astype(np.float32))
        snr.append(np.full(len(rows), head[2], np.float32))
        utterance.append(np.full(len(rows), head[1], np.int64))
    spread = np.concatenate(spread).std(0)
    return (np.concatenate(seen), np.concatenate(wanted) / spread, np.concatenate(weight),
            np.concatenate(snr), np.concatenate(utterance), spread)


def left(network, seen, wanted, weight, snr):
    """Mean square error over that of cleaning alone, by level."""
    with torch.no_grad():
        answer = np.concatenate([network(torch.from_numpy(part.astype(np.float32))).numpy()
                                 for part in np.array_split(seen, 1 + len(seen) // 20000)])
    text = []
    for least, most in ((20, 30), (15, 20), (8, 15), (3, 8), (-3, 3)):
        here = (snr >= least) & (snr < most) & (weight == 1)
        before, after = (wanted[here] ** 2).mean(), ((wanted - answer)[here] ** 2).mean()
        text.append(f"{least} to {most} dB: {before:.3f} -> {after:.3f}")
    return "; ".join(text)


def teach(network, seen, wanted, weight, check):
    centre = seen[:200000].astype(np.float32).mean(0)
    scale = seen[:200000].astype(np.float32).std(0) + 1e-3
    optimiser = torch.optim.Adam(network.parameters(), RATE)
    order = np.arange(len(seen))
    steps, step, start = PASSES * (len(seen) // BATCH), 0, time.time()
    for one in range(PASSES):
        np.random.shuffle(order)
        for at in range(0, len(order) - BATCH, BATCH):
            rows = order[at:at + BATCH]
            for group in optimiser.param_groups:
                group["lr"] = RATE * (0.5 + 0.5 * math.cos(math.pi * step / steps)) + 1e-5
            answer = network(torch.from_numpy((seen[rows].astype(np.float32) - centre) / scale))
            error = (answer - torch.from_numpy(wanted[rows])) ** 2
            loss = (error * torch.from_numpy(weight[rows])[:, None]).mean()
            optimiser.zero_grad()
            loss.backward()
            optimiser.step()
            step += 1
        folded = fold(network, centre, scale)
        print(f"pass {one + 1}, {time.time() - start:.0f} s: {left(folded, *check)}", file=sys.stderr, flush=True)
    return folded


def make():
    inputs = (2 * (2 * AROUND + 1) + 1) * CEPSTRA
    return torch.nn.Sequential(torch.nn.Linear(inputs, HIDDEN), torch.nn.ReLU(),
                               torch.nn.Linear(HIDDEN, HIDDEN), torch.nn.ReLU(),
                               torch.nn.Linear(HIDDEN, CEPSTRA))


def fold(network, centre, scale):
    """The same network for inputs as they are."""
    folded = make()
    folded.load_state_dict(network.state_dict())
    with torch.no_grad():
        folded[0].weight /= torch.from_numpy(scale)
        folded[0].bias -= folded[0].weight @ torch.from_numpy(centre)
    return folded


def rounded(layer):
    weight = layer.weight.detach().numpy()
    step = np.abs(weight).max(1) / 127
    return np.rint(weight / step[:, None]).astype(np.int8), step, layer.bias.detach().numpy()


def table(name, kind, numbers, form, file):
    print(f"static const {kind} {name}[] = {{", file=file)
    line = "   "
    for number in numbers:
        text = f" {number:{form}}{'f' if kind == 'float' else ''},"
        if len(line) + len(text) > 100:
            print(line, file=file)
            line = "   "
        line += text
    print(line + "\n};", file=file)


def main():
    torch.manual_seed(1)
    torch.set_num_threads(1)
    np.random.seed(1)
    seen, wanted, weight, snr, utterance, spread = read(sys.argv[1:])
    kept = utterance % KEPT_EVERY == KEPT
    check = (seen[kept], wanted[kept], weight[kept], snr[kept])
    network = teach(make(), seen[~kept], wanted[~kept], weight[~kept], check)
    layers = [network[0], network[2], network[4]]
    parts = [rounded(layer) for layer in layers]
    with torch.no_grad():
        for layer, (whole, step, _) in zip(layers, parts):
            layer.weight.copy_(torch.from_numpy(whole * step[:, None].astype(np.float32)))
    print(f"rounded: {left(network, *check)}", file=sys.stderr)
    # The last layer answers in spreads; the program wants cepstra.
    whole, step, bias = parts[2]
    parts[2] = (whole, step * spread, bias * spread)
    print("/* Printed by tests/speech/teach.sh: see enhance_table.h. Not to be mended by hand. */\n"
          "#include \"speech/enhance_table.h\"\n\n/* clang-format off */")
    for number, (whole, step, bias) in enumerate(parts):
        table(f"weight_{number}", "int8_t", whole.ravel(), "d", sys.stdout)
        table(f"step_{number}", "float", step, "#.6g", sys.stdout)
        table(f"bias_{number}", "float", bias, "#.6g", sys.stdout)
    print("/* clang-format on */\n\nconst struct enhance_layer enhance_table[ENHANCE_LAYERS] = {")
    for number in range(len(parts)):
        print(f"    {{weight_{number}, step_{number}, bias_{number}}},")
    print("};")


main()
