/* A workshop for the tests: see shop.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "shop.h"

#include <ftw.h>
#include <glob.h>
#include <math.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/text.h"
#include "language/language.h"

enum { QUIET_MS = 300, HOUR_MS = 3600 * 1000 };

extern char **environ;

/* ---- the room ------------------------------------------------------------------------------ */

static void moment(void *user, struct audio_room *room, int64_t now_ms)
{
    struct shop *shop = user;
    if (now_ms > (shop->give_up_ms != 0 ? shop->give_up_ms : HOUR_MS)) {
        shop->stop = 1;
        audio_room_interrupt(room);
        return;
    }
    bool asked = audio_room_quiet_ms(room) >= QUIET_MS && !audio_room_saying(room) &&
                 shop->live != NULL && !station_live_speaks(shop->live) &&
                 now_ms > shop->station.asked_ms + QUIET_MS &&
                 (shop->station.asked_ms != shop->answered_ms || now_ms > shop->said_ms + 8000);
    if (audio_room_saying(room))
        shop->said_ms = now_ms;
    if (shop->technician != NULL)
        shop->technician(shop, now_ms, asked);
}

/* Knuth, The Art of Computer Programming 2, 3.3.4; through a pole at 0.9: a fan rather than hiss.
 */
static void noise(void *user, uint64_t at_frame, float *pcm, size_t frames)
{
    struct shop *shop = user;
    (void)at_frame;
    double db = shop->setup.noise_db != 0 ? (double)shop->setup.noise_db : -70;
    float rms = (float)(pow(10, db / 20) * sqrt(3) * sqrt(1 - 0.81));
    for (size_t i = 0; i < frames; i++) {
        shop->noise_seed = shop->noise_seed * 1664525U + 1013904223U;
        float white = (float)(shop->noise_seed >> 8) / 8388608.0f - 1;
        shop->noise_last = 0.9f * shop->noise_last + rms * white;
        pcm[i] += shop->noise_last;
    }
}

static void witness(void *user, uint64_t at_frame, const int16_t *spoken, const int16_t *heard,
                    size_t frames)
{
    struct shop *shop = user;
    for (size_t i = 0; i < frames; i++)
        if (spoken[i] != 0) {
            shop->spoken_ms += AUDIO_ROOM_BLOCK_MS;
            break;
        }
    if (shop->witness != NULL)
        shop->witness(shop, at_frame, spoken, heard, frames);
}

static void tap(void *user, int64_t now_ms, const int16_t heard[SPEECH_FRAME],
                const int16_t played[SPEECH_FRAME])
{
    (void)user;
    (void)now_ms;
    (void)heard;
    (void)played;
}

static void told(void *user, const char *who, const char *text, int64_t ago_ms, int64_t lasts_ms)
{
    struct shop *shop = user;
    assert_true(ago_ms >= 0 && lasts_ms > 0 && text[0] != '\0');
    shop->told_tool += strcmp(who, "tool") == 0;
    shop->told_ear += strcmp(who, "ear") == 0;
}

/* ---- opening and closing ------------------------------------------------------------------- */

static void open_room(struct shop *shop)
{
    const struct shop_setup *setup = &shop->setup;
    shop->room = audio_room_create(
        &(struct audio_room_setup){
            .seed = 11,
            .echo_db = setup->echo_db != 0 ? setup->echo_db : -30,
            .delay_ms = 25,
            .rt60_ms = setup->rt60_ms != 0 ? setup->rt60_ms : 100,
            .lead_ms = 10,
            .counts_work = setup->counts_work,
            .moment = moment,
            .noise = noise,
            .witness = witness,
            .user = shop,
        },
        &shop->fault);
    assert_non_null(shop->room);
    if (!setup->mute) {
        shop->voice = speech_voice_create(165, &shop->fault);
        assert_non_null(shop->voice);
    }
    if (!setup->no_ear) {
        struct speech_config config = {.grammar_dir = MIDTHROW_SOURCE_DIR "/grammars",
                                       .same_meaning = language_same_meaning,
                                       .is_command = language_is_command,
                                       .live = true};
        shop->recogniser = speech_recogniser_create(&config, &shop->fault);
        assert_non_null(shop->recogniser);
    }
    struct station_live_config live = {
        .driver = &audio_live_room,
        .audio = {.rate_hz = SPEECH_RATE_HZ,
                  .setup = shop->room,
                  .no_microphone = setup->no_ear,
                  .no_speaker = setup->mute},
        .recogniser = shop->recogniser,
        .grammar_dir = MIDTHROW_SOURCE_DIR "/grammars",
        .voice = shop->voice,
        .half_duplex = setup->half_duplex,
        .push_to_talk = setup->push_to_talk,
        .tap = tap,
        .told = told,
        .tap_context = shop,
    };
    shop->live = station_live_create(&live, &shop->fault);
    if (shop->live == NULL)
        fail_msg("%s", shop->fault.sentence);
}

void shop_open(struct shop *shop, const struct shop_setup *setup)
{
    memset(shop, 0, sizeof *shop);
    shop->setup = *setup;
    shop->noise_seed = 7;
    const char *where = getenv("TMPDIR");
    snprintf(shop->data, sizeof shop->data, "%s/midthrow-shop-XXXXXX",
             where != NULL ? where : "/tmp");
    assert_non_null(mkdtemp(shop->data));
    open_room(shop);
    shop->prompts = prompt_load(MIDTHROW_SOURCE_DIR "/prompts", &shop->fault);
    shop->journal = journal_open(shop->data, &shop->fault);
    shop->job = calloc(1, sizeof *shop->job);
    shop->screen_file = tmpfile();
    assert_non_null(shop->prompts);
    assert_non_null(shop->journal);
    assert_non_null(shop->job);
    assert_non_null(shop->screen_file);
    struct screen_config screen = {.out = shop->screen_file};
    assert_true(screen_open(&shop->screen, &screen_plain, &screen, &shop->fault));
    assert_true(station_mouth_open(&shop->mouth, NULL, &shop->fault));
    station_settings_init(&shop->settings);
    job_init(shop->job);
    assert_true(journal_new_job(shop->journal, station_now_ms(), &shop->number, &shop->fault));
    shop->station = (struct station){
        .journal = shop->journal,
        .number = shop->number,
        .job = shop->job,
        .prompts = shop->prompts,
        .mouth = &shop->mouth,
        .screen = &shop->screen,
        .settings = &shop->settings,
        .beeps = true, /* midthrow must not hear those either */
        .data = shop->data,
        .shared_profiles = MIDTHROW_SOURCE_DIR "/src/profile/shipped",
        .only_profile = setup->profile != NULL ? setup->profile : "generic-big-twin",
        .bike = "",
        .live = shop->live,
        .interrupted = &shop->stop,
    };
    shop->keys = -1;
    if (!setup->with_keys)
        return;
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    shop->keys = ends[1];
    station_lines_init(&shop->lines, ends[0], true, true);
    shop->station.input[0].driver = &station_input_lines;
    shop->station.input[0].state = &shop->lines;
    shop->station.inputs = 1;
}

bool shop_run(struct shop *shop, bool resumed)
{
    if (shop->station.transcript == NULL)
        shop->station.transcript = transcript_open(shop->data, shop->number, &shop->fault);
    assert_non_null(shop->station.transcript);
    return station_run(&shop->station, resumed, &shop->fault);
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *ftw)
{
    (void)status;
    (void)kind;
    (void)ftw;
    return remove(path);
}

void shop_close(struct shop *shop)
{
    if (shop->station.transcript != NULL)
        transcript_close(shop->station.transcript);
    station_live_destroy(shop->live);
    audio_room_destroy(shop->room);
    speech_voice_destroy(shop->voice);
    speech_recogniser_destroy(shop->recogniser);
    screen_close(&shop->screen);
    fclose(shop->screen_file);
    journal_close(shop->journal);
    prompt_free(shop->prompts);
    free(shop->job);
    if (shop->setup.with_keys) {
        close(shop->lines.fd);
        if (shop->keys >= 0)
            close(shop->keys);
    }
    nftw(shop->data, remove_entry, 8, FTW_DEPTH | FTW_PHYS);
}

/* ---- the technician's means ---------------------------------------------------------------- */

void shop_say(struct shop *shop, const int16_t *pcm, size_t frames)
{
    assert_true(audio_room_say(shop->room, pcm, frames, &shop->fault));
    shop->answered_ms = shop->station.asked_ms;
}

static void say_recording(struct shop *shop, const char *path, double gain)
{
    int16_t *pcm;
    size_t frames;
    if (!audio_read_whole(path, SPEECH_RATE_HZ, &pcm, &frames, &shop->fault))
        fail_msg("%s", shop->fault.sentence);
    for (size_t i = 0; i < frames; i++)
        pcm[i] = (int16_t)fmax(-32768, fmin(32767, pcm[i] * gain));
    shop_say(shop, pcm, frames);
    free(pcm);
}

void shop_say_file(struct shop *shop, const char *path)
{
    say_recording(shop, path, 1);
}

void shop_say_louder(struct shop *shop, const char *words, double gain)
{
    char path[sizeof shop->data + 16];
    snprintf(path, sizeof path, "%s/said.wav", shop->data);
    char flite[] = "flite", voice_is[] = "-voice", voice[] = "slt", text_is[] = "-t",
         out_is[] = "-o";
    char said[256];
    text_copy(said, sizeof said, words);
    char *const arguments[] = {flite, voice_is, voice, text_is, said, out_is, path, NULL};
    pid_t child;
    int status = 1;
    assert_int_equal(posix_spawnp(&child, flite, NULL, NULL, arguments, environ), 0);
    assert_true(waitpid(child, &status, 0) == child && status == 0);
    say_recording(shop, path, gain);
    unlink(path);
}

void shop_say_words(struct shop *shop, const char *words)
{
    shop_say_louder(shop, words, 1);
}

void shop_type(struct shop *shop, const char *line)
{
    assert_true(dprintf(shop->keys, "%s\n", line) > 0);
}

/* ---- what came of it ----------------------------------------------------------------------- */

struct count {
    bool (*wanted)(const struct job_event *event);
    int n;
};

static bool count(void *context, const struct job_event *event)
{
    struct count *count = context;
    count->n += count->wanted(event);
    return true;
}

int shop_count(struct shop *shop, bool (*wanted)(const struct job_event *event))
{
    struct count counted = {.wanted = wanted};
    assert_true(journal_replay(shop->journal, shop->number, count, &counted, &shop->fault));
    return counted.n;
}

bool shop_said(struct shop *shop, const char *part)
{
    static char text[1 << 20];
    rewind(shop->screen_file);
    size_t n = fread(text, 1, sizeof text - 1, shop->screen_file);
    text[n] = '\0';
    fseek(shop->screen_file, 0, SEEK_END);
    return strstr(text, part) != NULL;
}
