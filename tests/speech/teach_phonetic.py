#!/usr/bin/python3
"""Teaches the network of src/speech/phonetic.h and prints src/speech/phonetic_table.c.

    teach_phonetic.py [leave=SPEAKER,...] [passes=N] FILE... > src/speech/phonetic_table.c

FILEs are gather-sounds' (sounds.h has their form). It learns which of the sounds each frame is. So that
it learns sounds and not the few voices, each stretch is varied anew each time it is met: its bands
bent, as another throat would (after Jaitly and Hinton 2013, "Vocal tract length perturbation improves
speech recognition", ICML workshop), tilted, some of them hidden (Park and others 2019, "SpecAugment",
Interspeech), a tenth of the units left out, the truth doubted a
little (Szegedy and others 2016, "Rethinking the inception architecture", CVPR; Pereyra and others 2017,
"Regularizing neural networks by penalizing confident output distributions", ICLR workshop, towards the
sounds' own shares), what the Gaussians say of a phone wrong by something else in each stretch. All
from memory.

Every twentieth utterance is kept from the teaching, and what is right of the phones in it is printed to
standard error by speaker and noise. `leave`: speakers (by number, gather_sounds.c) that are kept out
altogether, to see what an unknown voice gets. Needs Debian's python3-torch and python3-numpy; seeded.
"""
import math
import sys
import time

import numpy as np
import torch
from torch import nn
from torch.nn import functional

BANDS, PHONES = 32, 42  # phonetic.h: PHONETIC_MEL, PHONETIC_PHONES
SEEN = BANDS + PHONES
SOUNDS, STATES, SILENCE = 126, 3, 32  # PHONETIC_SOUNDS ...
HEAD, FRAME = 5, 2 + SEEN  # floats of struct sounds_head, sounds_frame
NOISE, SPEECH = 1, 2  # enum speech_frame of clean.h
MEAN_FRAMES, NOISE_FRAMES = 20, 5  # phonetic.c, and the bounds below
LEAST, MOST, NOISE_LEAST, NOISE_MOST, NOISE_UNKNOWN = -10, 6, -8, 2, -6
HIDDEN, FIRST, APART = 256, 5, (2, 4, 6)
REACH = FIRST // 2 + sum(APART)
LENGTH, BATCH, RATE, WARM = 96, 64, 2e-3, 200
WARP, TILT, HIDE, BIAS, LEAVE_OUT, SMOOTH = 1.0, 0.5, 0.3, 0.15, 0.1, 0.05
KEPT_EVERY, KEPT, QUIET_DB = 20, 7, 40


def recordings(paths):
    for path in paths:
        numbers = np.fromfile(path, np.float32)
        at = 0
        while at + HEAD <= len(numbers):
            head, frames = numbers[at:at + HEAD], int(numbers[at])
            at += HEAD
            yield head, numbers[at:at + frames * FRAME].reshape(frames, FRAME)
            at += frames * FRAME


def mean_of_speech(all_recordings):
    quiet = [frames[frames[:, 0] == SPEECH, 2:2 + BANDS] for head, frames in all_recordings if head[3] >= QUIET_DB]
    return np.concatenate(quiet).mean(0)


def prepare(frames, known):
    """What phonetic.c makes of a recording, and the sound of each frame."""
    kind, bands, fit = frames[:, 0], frames[:, 2:2 + BANDS], frames[:, 2 + BANDS:]
    speech, noise = bands[kind == SPEECH], bands[kind == NOISE]
    mean = (known * MEAN_FRAMES + speech.sum(0)) / (MEAN_FRAMES + len(speech))
    level = np.full(BANDS, NOISE_UNKNOWN, np.float32)
    if len(noise) >= NOISE_FRAMES:
        level = np.clip(noise.mean(0) - mean, NOISE_LEAST, NOISE_MOST)
    seen = np.concatenate([np.clip(bands - mean, LEAST, MOST), -np.log1p(fit)], 1)
    seen = np.pad(seen, ((REACH, REACH), (0, 0)), "edge")
    sound = frames[:, 1].astype(np.int64)
    sound[sound // STATES == SILENCE] = SILENCE * STATES
    return seen.astype(np.float16), level.astype(np.float32), sound


class Network(nn.Module):
    def __init__(self):
        super().__init__()
        self.first = nn.Conv1d(SEEN, HIDDEN, FIRST)
        self.noise = nn.Linear(BANDS, HIDDEN, bias=False)
        self.middle = nn.ModuleList([nn.Conv1d(HIDDEN, HIDDEN, 3, dilation=apart) for apart in APART])
        self.even = nn.ModuleList([nn.BatchNorm1d(HIDDEN) for _ in range(1 + len(APART))])
        self.last = nn.Conv1d(HIDDEN, SOUNDS, 1)
        self.leave_out = nn.Dropout(LEAVE_OUT)

    def forward(self, seen, noise):
        rows = functional.relu(self.even[0](self.first(seen) + self.noise(noise)[:, :, None]))
        for layer, even in zip(self.middle, self.even[1:]):
            rows = functional.relu(even(layer(self.leave_out(rows))))
        return self.last(rows)


def normal(count, share):
    return share * np.random.randn(count, 1)


def bend(seen, noise):
    band, half = np.arange(BANDS), np.pi * np.arange(BANDS) / (BANDS - 1)
    count = len(seen)
    use = np.random.rand(count, 1) < 0.8
    at = band + use * WARP * (normal(count, 1.0) * np.sin(half) + normal(count, 0.6) * np.sin(2 * half))
    at = np.clip(at, 0, BANDS - 1.001)
    low, part = at.astype(int), (at - at.astype(int)).astype(np.float32)
    of = np.broadcast_to(low[:, None, :], seen.shape)
    bent = np.take_along_axis(seen, of, 2) * (1 - part[:, None, :])
    bent += np.take_along_axis(seen, of + 1, 2) * part[:, None, :]
    return bent, np.take_along_axis(noise, low, 1) * (1 - part) + np.take_along_axis(noise, low + 1, 1) * part


def tilt(seen):
    half, count = np.pi * np.arange(BANDS) / (BANDS - 1), len(seen)
    by = sum(normal(count, share) * np.cos(k * half) for k, share in enumerate((0.5, 0.5, 0.35, 0.25)))
    return seen + (TILT * by[:, None, :]).astype(np.float32)


def mislead(fit):
    """As if the Gaussians liked some phones better, some worse, in this voice."""
    by = normal(len(fit), 1) * np.random.randn(len(fit), PHONES) * BIAS
    return fit + by[:, None, :].astype(np.float32)


def hide(seen, noise):
    for one in np.flatnonzero(np.random.rand(len(seen)) < HIDE):
        width = np.random.randint(1, 6)
        at = np.random.randint(0, BANDS - width)
        seen[one, :, at:at + width] = 0
        noise[one, at:at + width] = -3


def batch(data, stretches):
    count = len(stretches)
    seen = np.zeros((count, LENGTH + 2 * REACH, SEEN), np.float32)
    noise, truth = np.zeros((count, BANDS), np.float32), np.full((count, LENGTH), -100, np.int64)
    for i, (which, at) in enumerate(stretches):
        rows, level, sound = data[which]
        at = max(0, min(at + np.random.randint(-20, 21), len(sound) - LENGTH))
        frames = min(LENGTH, len(sound) - at)
        seen[i, :frames + 2 * REACH] = rows[at:at + frames + 2 * REACH]
        noise[i], truth[i, :frames] = level, sound[at:at + frames]
    fit = mislead(seen[:, :, BANDS:])
    bands, noise = bend(seen[:, :, :BANDS], noise)
    bands = tilt(bands)
    hide(bands, noise)
    seen = np.concatenate([bands, fit], 2)
    return (torch.from_numpy(seen.transpose(0, 2, 1).astype(np.float32)),
            torch.from_numpy(noise.astype(np.float32)), torch.from_numpy(truth))


def right(network, kept):
    """Percent of speech frames whose phone is right, by speaker and level."""
    tally = {}
    network.eval()
    with torch.no_grad():
        for head, (seen, noise, sound) in kept:
            answer = network(torch.from_numpy(seen.astype(np.float32).T[None]), torch.from_numpy(noise[None]))
            answer = answer[0].argmax(0).numpy()
            speech = sound != SILENCE * STATES
            level = min((40, 20, 10, 5, 0), key=lambda at: abs(at - head[3]))
            of = tally.setdefault((int(head[2]), level), [0, 0])
            of[0] += (answer[speech] // STATES == sound[speech] // STATES).sum()
            of[1] += speech.sum()
    network.train()
    return "; ".join(f"{speaker} at {level} dB {100 * part / whole:.1f}"
                     for (speaker, level), (part, whole) in sorted(tally.items(), reverse=True) if whole)


def doubted(sums, truth, share):
    """Cross entropy to the truth, in which a part is always what is said at large: so that no sound is
    ruled out, and a rare one is not taken for likelier than it is."""
    chance = functional.log_softmax(sums, 1)
    at_large = -(chance * share[None, :, None]).sum(1)[truth >= 0].mean()
    return (1 - SMOOTH) * functional.nll_loss(chance, truth) + SMOOTH * at_large


def teach(data, kept, passes, share):
    share = torch.from_numpy(share.astype(np.float32))
    stretches = [(which, at) for which, (_, _, sound) in enumerate(data)
                 for at in range(0, max(1, len(sound) - LENGTH // 2), LENGTH)]
    network = Network()
    optimiser = torch.optim.Adam(network.parameters(), RATE)
    steps, step, start = passes * (len(stretches) // BATCH), 0, time.time()
    for one in range(passes):
        order = np.random.permutation(len(stretches))
        for at in range(0, len(order) - BATCH, BATCH):
            for group in optimiser.param_groups:
                fall = 0.5 + 0.5 * math.cos(math.pi * min(1, step / steps))
                group["lr"] = RATE * min(1, step / WARM) * fall + 1e-6
            seen, noise, truth = batch(data, [stretches[i] for i in order[at:at + BATCH]])
            loss = doubted(network(seen, noise), truth, share)
            optimiser.zero_grad()
            loss.backward()
            optimiser.step()
            step += 1
        print(f"pass {one + 1}, {time.time() - start:.0f} s: {right(network, kept)}", file=sys.stderr, flush=True)
    network.eval()
    return network


def numbers(tensor):
    return tensor.detach().numpy().astype(np.float64)


def folded(layer, even, extra=None):
    """Weights [output][tap and input] and bias, what evens the units out folded into them."""
    weight = numbers(layer.weight).transpose(0, 2, 1).reshape(layer.weight.shape[0], -1)
    bias = numbers(layer.bias)
    if extra is not None:
        weight = np.concatenate([weight, numbers(extra.weight)], 1)
    if even is None:
        return weight, bias
    scale = numbers(even.weight) / np.sqrt(numbers(even.running_var) + even.eps)
    return weight * scale[:, None], (bias - numbers(even.running_mean)) * scale + numbers(even.bias)


def table(name, kind, values, form, static=True):
    print(f"{'static ' if static else ''}const {kind} {name}[] = {{")
    line = "   "
    for value in values:
        text = f" {value:{form}}{'f' if kind == 'float' else ''},"
        if len(line) + len(text) > 100:
            print(line)
            line = "   "
        line += text
    print(line + "\n};")


def print_table(network, mean, share):
    layers = [(FIRST, 1, SEEN) + folded(network.first, network.even[0], network.noise)]
    for layer, even, apart in zip(network.middle, network.even[1:], APART):
        layers.append((3, apart, HIDDEN) + folded(layer, even))
    layers.append((1, 1, HIDDEN) + folded(network.last, None))
    print("/* Printed by tests/speech/teach.sh: see phonetic_table.h. Not to be mended by hand. */\n"
          "#include \"speech/phonetic_table.h\"\n\n/* clang-format off */")
    for number, (_, _, _, weight, bias) in enumerate(layers):
        step = np.abs(weight).max(1) / 127
        table(f"weight_{number}", "int8_t", np.rint(weight / step[:, None]).astype(int).ravel(), "d")
        table(f"step_{number}", "float", step, "#.6g")
        table(f"bias_{number}", "float", bias, "#.6g")
    table("phonetic_mean", "float", mean, "#.6g", static=False)
    table("phonetic_share", "float", share, "#.6g", static=False)
    print("\nconst struct phonetic_layer phonetic_table[] = {")
    for number, (taps, apart, inputs, _, bias) in enumerate(layers):
        print(f"    {{{taps}, {apart}, {inputs}, {len(bias)}, weight_{number}, step_{number}, bias_{number}}},")
    print("};\nconst size_t phonetic_layers = sizeof phonetic_table / sizeof phonetic_table[0];\n/* clang-format on */")


def main():
    options = dict(word.split("=") for word in sys.argv[1:] if "=" in word)
    torch.manual_seed(1)
    torch.set_num_threads(2)
    np.random.seed(1)
    heard = list(recordings([word for word in sys.argv[1:] if "=" not in word]))
    mean = mean_of_speech(heard)
    data, kept, left = [], [], [int(one) for one in options.get("leave", "-1").split(",")]
    for head, frames in heard:
        is_kept = int(head[1]) % KEPT_EVERY == KEPT or int(head[2]) in left
        (kept.append((head, prepare(frames, mean))) if is_kept else data.append(prepare(frames, mean)))
    share = np.bincount(np.concatenate([sound for _, _, sound in data]), minlength=SOUNDS) + 1.0
    share /= share.sum()
    network = teach(data, kept[::max(1, len(kept) // 1200)], int(options.get("passes", 5)), share)
    print_table(network, mean, np.log(share))


main()
