/* What is heard and what is played, brought together: see join.h. */
#include "audio/join.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "audio/align.h"
#include "audio/convert.h"
#include "audio/resample.h"

enum {
    TAPE = 1 << 17, /* frames remembered: 8 s at 16 kHz */
    PIECE = 512,
    STEP_MS = 50,     /* how often the offset may move: 20 frames a second, drift is under 4 */
    LEAD_MS = 5,      /* what was played is shown that much early: an echo never before its cause */
    FLUSH_MS = 15,    /* a writer that lets it come to so little has no more to write */
    STARVED_MS = 250, /* sound that comes so soon after the last belongs to it */
    QUEUE_MS = 2000,  /* of `write` */
};

/* The last TAPE frames of an endless recording. */
struct tape {
    int16_t pcm[TAPE];
    uint64_t end; /* frames ever */
};

struct side {
    struct audio_line *line;
    struct audio_resampler *resampler; /* from the line's rate to the join's */
    struct tape tape;
    uint64_t base;                 /* tape.end when this line began */
    uint64_t taken;                /* frames taken from the line since */
    int64_t end_ns;                /* when the last of them is over; 0: none yet */
    int64_t sign_ns;               /* the last sign of life */
    struct audio_deadlines before; /* of the lines before this one */
};

struct audio_join {
    int rate_hz;
    struct side side[AUDIO_SIDES];
    struct audio_align align;
    uint64_t read;  /* of the microphone's tape */
    size_t stepped; /* frames read since the offset last moved */
    uint64_t lost, starved;

    struct audio_resampler *out; /* from the join's rate to the speaker's */
    uint64_t written, handed;    /* frames into and out of that */
    int64_t real_until_ns;       /* when the last frame that was asked for has been played */
    int64_t dry_ns;              /* when the speaker ran dry; 0: it has not */
};

struct audio_join *audio_join_create(int rate_hz, struct fault *fault)
{
    struct audio_join *join = calloc(1, sizeof *join);
    if (join == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    join->rate_hz = rate_hz;
    audio_align_init(&join->align, rate_hz);
    return join;
}

static void let_go(struct audio_join *join, enum audio_side which)
{
    struct side *side = &join->side[which];
    if (side->line != NULL) {
        join->lost += atomic_load(&side->line->lost_frames);
        audio_line_deadlines(side->line, &side->before);
    }
    audio_line_destroy(side->line);
    audio_resampler_destroy(side->resampler);
    side->line = NULL;
    side->resampler = NULL;
    side->end_ns = 0;
    if (which == AUDIO_SPEAKER) {
        audio_resampler_destroy(join->out);
        join->out = NULL;
        join->written = join->handed = 0;
        join->real_until_ns = join->dry_ns = 0;
    }
}

void audio_join_destroy(struct audio_join *join)
{
    if (join == NULL)
        return;
    let_go(join, AUDIO_MICROPHONE);
    let_go(join, AUDIO_SPEAKER);
    free(join);
}

bool audio_join_set(struct audio_join *join, struct audio_line *line, struct fault *fault)
{
    struct side *side = &join->side[line->side];
    audio_join_pump(join);
    let_go(join, line->side);
    side->line = line;
    side->base = side->tape.end;
    side->taken = 0;
    side->sign_ns = audio_now_ns();
    audio_align_init(&join->align, join->rate_hz);
    side->resampler = audio_resampler_create(line->rate_hz, join->rate_hz, fault);
    if (line->side == AUDIO_SPEAKER)
        join->out = audio_resampler_create(join->rate_hz, line->rate_hz, fault);
    return side->resampler != NULL && (line->side == AUDIO_MICROPHONE || join->out != NULL);
}

int64_t audio_join_still_ms(const struct audio_join *join, enum audio_side side)
{
    int64_t sign = join->side[side].sign_ns;
    return sign == 0 ? 0 : (audio_now_ns() - sign) / 1000000;
}

/* ---- from the lines to the tapes ---- */

static size_t lesser(size_t a, size_t b)
{
    return a < b ? a : b;
}

static void record(struct side *side, const int16_t *pcm, size_t n)
{
    float in[PIECE], out[PIECE];
    for (size_t i = 0; i < n; i++)
        in[i] = audio_float(pcm[i]);
    for (size_t from = 0; from < n;) {
        size_t used = n - from, made = PIECE;
        audio_resample(side->resampler, in + from, &used, out, &made);
        for (size_t i = 0; i < made; i++)
            side->tape.pcm[side->tape.end++ % TAPE] = audio_pcm16(out[i]);
        from += used;
        if (used == 0 && made == 0)
            return;
    }
}

/* Where on the tape the last frame taken ends, were the resampler without delay. */
static double tape_end(const struct audio_join *join, const struct side *side)
{
    return (double)side->base +
           (double)side->taken * (double)join->rate_hz / (double)side->line->rate_hz;
}

/* The offset as the two ends tell it now. */
static void compare(struct audio_join *join, size_t frames)
{
    const struct side *mouth = &join->side[AUDIO_SPEAKER], *ear = &join->side[AUDIO_MICROPHONE];
    if (mouth->end_ns == 0 || ear->end_ns == 0 || mouth->line == NULL)
        return;
    double later = (double)(mouth->end_ns - ear->end_ns) * 1e-9 * join->rate_hz;
    double offset = tape_end(join, mouth) - later - tape_end(join, ear);
    audio_align_see(&join->align, offset,
                    (double)frames * (double)join->rate_hz / (double)ear->line->rate_hz);
}

static int64_t ns_of(uint64_t frames, int rate_hz)
{
    return (int64_t)(frames * 1000000000 / (uint64_t)rate_hz);
}

static void note_played(struct audio_join *join, const struct audio_call *call, int rate_hz)
{
    if (call->real == 0)
        return;
    join->real_until_ns = call->at_ns + ns_of(call->real, rate_hz);
    if (call->real < call->frames)
        join->dry_ns = audio_now_ns();
}

static void take_call(struct audio_join *join, struct side *side, const struct audio_call *call)
{
    struct audio_line *line = side->line;
    struct audio_ring *ring = line->side == AUDIO_SPEAKER ? line->played : line->sound;
    int16_t piece[PIECE];
    for (size_t left = call->frames; left > 0;) {
        size_t got = audio_ring_read(ring, piece, lesser(left, PIECE));
        if (got == 0)
            break;
        record(side, piece, got);
        left -= got;
    }
    side->taken += call->frames;
    side->sign_ns = audio_now_ns();
    side->end_ns = call->at_ns + ns_of(call->frames, line->rate_hz);
    if (line->side == AUDIO_SPEAKER)
        note_played(join, call, line->rate_hz);
    else
        compare(join, call->frames);
}

static void pump_side(struct audio_join *join, enum audio_side which)
{
    struct side *side = &join->side[which];
    if (side->line == NULL)
        return;
    bool closed = atomic_load(&side->line->closed); /* before the last calls are taken */
    struct audio_call call;
    while (audio_ring_read(side->line->calls, &call, 1) == 1)
        take_call(join, side, &call);
    if (closed)
        let_go(join, which);
}

/* ---- to the speaker ---- */

static void hand(struct audio_join *join, const float *pcm, size_t n)
{
    int16_t piece[PIECE];
    for (size_t done = 0; done < n;) {
        size_t count = lesser(n - done, PIECE);
        for (size_t i = 0; i < count; i++)
            piece[i] = audio_pcm16(pcm[done + i]);
        audio_ring_write(join->side[AUDIO_SPEAKER].line->sound, piece, count);
        done += count;
    }
    join->handed += n;
}

/* The last milliseconds of an utterance are inside the resampler until silence pushes them out. */
static void flush(struct audio_join *join)
{
    const struct audio_line *line = join->side[AUDIO_SPEAKER].line;
    if (line == NULL || join->written == 0 || line->rate_hz == join->rate_hz ||
        audio_ring_pending(line->sound) > (size_t)(line->rate_hz * FLUSH_MS / 1000))
        return;
    float out[PIECE];
    for (size_t made = PIECE; made > 0;) {
        made = PIECE;
        audio_resample_flush(join->out, out, &made);
        hand(join, out, made);
    }
    audio_resampler_reset(join->out);
    join->written = join->handed = 0;
}

void audio_join_pump(struct audio_join *join)
{
    pump_side(join,
              AUDIO_SPEAKER); /* first: what was played is there before what was heard of it */
    pump_side(join, AUDIO_MICROPHONE);
    flush(join);
    uint64_t unread = join->side[AUDIO_MICROPHONE].tape.end - join->read;
    if (unread > TAPE) {
        join->lost += unread - TAPE;
        join->read += unread - TAPE;
    }
}

size_t audio_join_write(struct audio_join *join, const int16_t *pcm, size_t frames)
{
    const struct audio_line *line = join->side[AUDIO_SPEAKER].line;
    if (line == NULL || frames == 0)
        return 0;
    size_t most = (size_t)join->rate_hz * QUEUE_MS / 1000, pending = audio_join_pending(join);
    if (join->dry_ns != 0) {
        join->starved += audio_now_ns() - join->dry_ns < (int64_t)STARVED_MS * 1000000;
        join->dry_ns = 0;
    }
    frames = pending < most ? lesser(frames, most - pending) : 0;
    for (size_t done = 0; done < frames;) {
        float in[PIECE / 2], out[PIECE * 4];
        size_t used = lesser(frames - done, PIECE / 2), made = PIECE * 4;
        for (size_t i = 0; i < used; i++)
            in[i] = audio_float(pcm[done + i]);
        audio_resample(join->out, in, &used, out, &made);
        hand(join, out, made);
        done += used;
    }
    join->written += frames;
    return frames;
}

/* The ring is looked at before the calls are: a piece in between counts twice, never not at all. */
size_t audio_join_pending(struct audio_join *join)
{
    const struct audio_line *line = join->side[AUDIO_SPEAKER].line;
    if (line == NULL)
        return 0;
    double ratio = (double)join->rate_hz / (double)line->rate_hz;
    double queued = (double)audio_ring_pending(line->sound) * ratio;
    audio_join_pump(join);
    double inside = (double)join->written - (double)join->handed * ratio;
    double device = (double)(join->real_until_ns - audio_now_ns()) * 1e-9 * join->rate_hz;
    return (size_t)ceil(queued + fmax(0, inside) + fmax(0, device));
}

void audio_join_drop(struct audio_join *join)
{
    const struct audio_line *line = join->side[AUDIO_SPEAKER].line;
    if (line == NULL)
        return;
    audio_ring_forget(line->sound);
    audio_resampler_reset(join->out);
    join->written = join->handed = 0;
    join->dry_ns = 0;
}

/* ---- to the caller ---- */

size_t audio_join_readable(const struct audio_join *join)
{
    return (size_t)(join->side[AUDIO_MICROPHONE].tape.end - join->read);
}

/* What was played at that place of the speaker's tape; silence where there is nothing. */
static int16_t played_at(const struct tape *tape, int64_t at)
{
    int64_t end = (int64_t)tape->end;
    return at >= 0 && at < end && end - at <= TAPE ? tape->pcm[at % TAPE] : 0;
}

size_t audio_join_read(struct audio_join *join, int16_t *heard, int16_t *played, size_t frames)
{
    const struct tape *ear = &join->side[AUDIO_MICROPHONE].tape;
    const struct tape *mouth = &join->side[AUDIO_SPEAKER].tape;
    const size_t step = (size_t)(join->rate_hz * STEP_MS / 1000);
    const int64_t lead = (int64_t)join->rate_hz * LEAD_MS / 1000;
    size_t n = lesser(frames, audio_join_readable(join));
    for (size_t i = 0; i < n; i++) {
        if (join->stepped++ % step == 0)
            audio_align_step(&join->align);
        heard[i] = ear->pcm[join->read % TAPE];
        played[i] = played_at(mouth, (int64_t)join->read + join->align.used + lead);
        join->read++;
    }
    return n;
}

uint64_t audio_join_lost(const struct audio_join *join)
{
    uint64_t lost = join->lost;
    for (int i = 0; i < AUDIO_SIDES; i++)
        if (join->side[i].line != NULL)
            lost += atomic_load(&join->side[i].line->lost_frames);
    return lost;
}

uint64_t audio_join_starved(const struct audio_join *join)
{
    return join->starved;
}

void audio_join_deadlines(const struct audio_join *join, enum audio_side side,
                          struct audio_deadlines *deadlines)
{
    *deadlines = join->side[side].before;
    if (join->side[side].line != NULL)
        audio_line_deadlines(join->side[side].line, deadlines);
}
