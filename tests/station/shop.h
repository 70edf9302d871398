/*
 * A workshop for the tests: a whole station, its journal in a scratch folder, its ears and mouth in
 * the simulated room (audio/room.h), and a technician who answers when midthrow has fallen silent.
 *
 *     struct shop shop;
 *     shop_open(&shop, &(struct shop_setup){.echo_db = -20});
 *     shop.answer = my_answer;
 *     shop_run(&shop);
 *     shop_close(&shop);
 */
#ifndef MIDTHROW_TESTS_STATION_SHOP_H
#define MIDTHROW_TESTS_STATION_SHOP_H

#include "audio/room.h"
#include "station/station.h"

struct shop_setup {
    float echo_db;
    float noise_db; /* of full scale, white through a low pass; 0: -70 */
    float rt60_ms;  /* 0: 100, a small room, quick to simulate */
    bool mute;      /* nothing is spoken */
    bool no_ear;    /* without a recogniser: --pad */
    bool half_duplex, push_to_talk;
    bool counts_work;
    bool with_keys;      /* a keyboard, `shop.keys` is its other end */
    const char *profile; /* NULL: generic-big-twin */
};

struct shop {
    struct shop_setup setup;
    char data[512];
    struct speech_recogniser *recogniser;
    struct speech_voice *voice;
    struct audio_room *room;
    struct station_live *live;
    struct prompt_catalogue *prompts;
    struct journal *journal;
    struct job *job;
    struct station station;
    struct station_mouth mouth;
    struct station_lines lines;
    struct screen screen;
    struct station_settings settings;
    FILE *screen_file;
    int keys; /* write entries and words here */
    int64_t number;
    volatile sig_atomic_t stop; /* set to end the session */
    struct fault fault;
    uint32_t noise_seed;
    float noise_last;

    /* The technician, called every 10 ms; may use room, job and keys. `asked` says that a question
     * is open that was not answered yet, or not heard for eight seconds, and that midthrow has been
     * silent for 300 ms. */
    void (*technician)(struct shop *shop, int64_t now_ms, bool asked);
    void *user;
    /* What leaves the speaker and what is heard; may be NULL. */
    void (*witness)(struct shop *shop, uint64_t at_frame, const int16_t *spoken,
                    const int16_t *heard, size_t frames);
    int64_t give_up_ms;           /* the run ends then in any case; 0: an hour */
    int64_t said_ms, answered_ms; /* when the technician spoke last, and to which question */
    int told_tool, told_ear;      /* captions that a recording would get */
    int64_t spoken_ms;            /* how long the speaker was not silent */
};

void shop_open(struct shop *shop, const struct shop_setup *setup);
bool shop_run(struct shop *shop, bool resumed); /* false: see shop.fault */
void shop_close(struct shop *shop);

void shop_say(struct shop *shop, const int16_t *pcm, size_t frames);
void shop_say_file(struct shop *shop, const char *path);   /* of audio_fixtures/demo */
void shop_say_words(struct shop *shop, const char *words); /* by flite's voice slt */
void shop_say_louder(struct shop *shop, const char *words, double gain);
void shop_type(struct shop *shop, const char *line); /* its "\n" is added */

/* How many events of the journal `wanted` says yes to. */
int shop_count(struct shop *shop, bool (*wanted)(const struct job_event *event));
bool shop_said(struct shop *shop, const char *part); /* does the screen hold it? */

#endif
