/*
 * A whole job by ear on a real sound server: midthrow as its user starts it, and a robot technician
 * at a simulated bike who hears it speak, answers by voice over a shop's noise, and does the job to
 * its write-up. Nothing is shared between the two but sound and, as a technician reads the screen,
 * midthrow's journal: there the robot sees what is asked and what was understood. It is honest:
 * what was misunderstood it takes back, what is asked twice it says twice, and after two misses it
 * uses the number pad, as midthrow then offers.
 */
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "../job/technician.h"
#include "keypad/keypad.h"
#include "language/language.h"
#include "pulse.h"
#include "record/journal.h"
#include "sounds.h"

enum {
    SKIPPED = 77,
    SEED = 1679, /* a bike whose neutral a centred pawl cures, with few loose ends */
    NUMBER = 1,  /* of the only job in the journal */
    LIMIT_MS = 840 * 1000,
    STEP_MS = 20,
    LOOK_MS = 80,       /* how often the journal is looked at */
    PAUSE_MS = 500,     /* of silence after which midthrow has said what it wanted */
    MUTE_MS = 2500,     /* without a word from midthrow for so long, it will say none */
    PATIENCE_MS = 3000, /* no reaction to an answer after so long: it was not heard */
    KNOWN_MS = 700,     /* of speech after which somebody who knows the question answers */
    MISSES = 2,
};

static const char VOICE[] = "rms";
static double noise_db = 32; /* under the voice: a shop, but not beside the compressor */

static const char PROFILE[] = "[bike]\n"
                              "title = Robot's bike\n"
                              "source = the simulator\n"
                              "[stem]\n"
                              "across_flats = 1/4 in\n"
                              "step = 1/32\n"
                              "increment = 1/8\n"
                              "total = 1\n"
                              "[lock_nut]\n"
                              "across_flats = 11/16 in\n"
                              "[pawl]\n"
                              "tolerance = 1/32 in\n"
                              "resolution = 1/64 in\n"
                              "gear = 3\n"
                              "rounds = 6\n"
                              "[clutch]\n"
                              "kind = hydraulic\n"
                              "[linkage]\n"
                              "play_high = 2 mm\n";

/* From the command line: midthrow; and, to try others, the noise and how far under the voice. */
static const char *program, *noise = "compressor";

/* What the robot wants to have said, until midthrow has it right. */
struct answer {
    bool open;
    uint16_t question;
    char words[LANGUAGE_WORDS];
    struct language_value value;
    int misses;
};

static struct robot {
    struct pulse pulse;
    struct sounds sounds;
    char data[160];
    pid_t midthrow;
    int keys; /* midthrow's standard input */
    int64_t began_ms, looked_ms;

    struct journal *journal;
    size_t events;
    struct job job;
    struct technician technician;
    struct answer answer;
    bool takes_back; /* what midthrow took is not what was said ... */
    size_t back_to;  /* ... and is gone when there are so many answers */
    int back_misses;

    int64_t changed_ms;      /* when the journal last grew */
    uint64_t loud_at_change; /* what had been heard of midthrow by then */
    bool waits;              /* has spoken, and nothing has come of it yet */
    int64_t spoke_ms;
    bool over; /* what was said last began while midthrow spoke */

    int said, typed, accepted, unsure, rejected, unheard, misunderstood;
    int answered_over; /* answers that were taken though midthrow was speaking */
    int stops_over;    /* the same of "stop" */
    bool said_stop;
} robot;

static double seconds(void)
{
    return (double)(sounds_now_ms() - robot.began_ms) / 1000;
}

/* ---- processes ----------------------------------------------------------------------------- */

static bool write_file(const char *path, const char *words)
{
    FILE *file = fopen(path, "w");
    if (file == NULL)
        return false;
    fputs(words, file);
    return fclose(file) == 0;
}

static void start_midthrow(void)
{
    char path[256], name[256];
    snprintf(robot.data, sizeof robot.data, "%s/jobs", robot.pulse.folder);
    assert_int_equal(mkdir(robot.data, 0700), 0);
    snprintf(path, sizeof path, "%s/profiles", robot.data);
    assert_int_equal(mkdir(path, 0700), 0);
    snprintf(path, sizeof path, "%s/profiles/robot.ini", robot.data);
    assert_true(write_file(path, PROFILE));
    snprintf(name, sizeof name, "%s", program);
    char *argv[] = {name,
                    (char[]){"--live"},
                    (char[]){"--plain"},
                    (char[]){"--new"},
                    (char[]){"--profile"},
                    (char[]){"robot"},
                    (char[]){"--microphone"},
                    (char[]){"lift_microphone"},
                    (char[]){"--speaker"},
                    (char[]){"lift_speaker"},
                    (char[]){"--data"},
                    robot.data,
                    NULL};
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    fcntl(ends[1], F_SETFD, FD_CLOEXEC);
    snprintf(path, sizeof path, "%s/screen.txt", robot.pulse.folder);
    int screen = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    robot.keys = ends[1];
    robot.midthrow = pulse_spawn(&robot.pulse, argv, ends[0], screen, "midthrow.log");
    assert_true(robot.midthrow > 0);
    close(ends[0]);
    close(screen);
}

static void show_file(const char *name)
{
    char path[256], line[512];
    snprintf(path, sizeof path, "%s/%s", robot.pulse.folder, name);
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return;
    print_message("---- %s\n", name);
    while (fgets(line, sizeof line, file) != NULL)
        print_message("%s", line);
    fclose(file);
}

/* ---- following the journal ----------------------------------------------------------------- */

static void count(const struct job_event *event)
{
    if (event->kind != JOB_HEARD || event->source != JOB_BY_EAR)
        return;
    robot.accepted += event->verdict == JOB_ACCEPTED;
    robot.unsure += event->verdict == JOB_UNSURE;
    robot.rejected += event->verdict == JOB_REJECTED;
    robot.stops_over += robot.over && robot.job.mode == JOB_STOPPED;
    print_message("%6.1f s        heard \"%s\"%s%s, %s\n", seconds(), event->words,
                  event->other[0] != '\0' ? " or " : "", event->other,
                  job_verdict_name(event->verdict));
}

/* An answer stands in the job: is it what the robot said? */
static void judge(size_t before)
{
    const struct job_answer *taken = &robot.job.answer[robot.job.answers - 1];
    bool right = robot.answer.open && taken->question == robot.answer.question &&
                 language_equal(&taken->value, &robot.answer.value);
    if (right) {
        robot.answer.open = false;
        robot.answer.misses = 0;
        robot.answered_over += robot.over;
        return;
    }
    robot.misunderstood++;
    robot.takes_back = true;
    robot.back_to = before;
    robot.back_misses = 0;
    print_message("%6.1f s        that is not what was said\n", seconds());
}

static bool follow(void *context, const struct job_event *event)
{
    size_t *index = context;
    if ((*index)++ < robot.events)
        return true;
    robot.events++;
    size_t before = robot.job.answers;
    enum job_mode mode = robot.job.mode;
    uint16_t question = robot.job.question;
    static struct job_effects effects;
    job_step(&robot.job, event, &effects);
    count(event);
    robot.answer.misses += event->kind == JOB_HEARD && event->source == JOB_BY_EAR &&
                           robot.job.mode == mode && robot.job.question == question &&
                           robot.job.answers == before;
    if (robot.takes_back && robot.job.answers <= robot.back_to)
        robot.takes_back = false;
    else if (robot.job.answers > before)
        judge(before);
    robot.changed_ms = sounds_now_ms();
    robot.loud_at_change = robot.sounds.loud_steps;
    robot.waits = false;
    return true;
}

static void look(void)
{
    struct fault fault = {0};
    if (sounds_now_ms() - robot.looked_ms < LOOK_MS)
        return;
    robot.looked_ms = sounds_now_ms();
    if (robot.journal == NULL && journal_exists(robot.data))
        robot.journal = journal_open(robot.data, &fault);
    size_t index = 0;
    if (robot.journal != NULL) /* which has no job yet in the first moments */
        journal_replay(robot.journal, NUMBER, follow, &index, &fault);
}

/* ---- answering ----------------------------------------------------------------------------- */

static void say(const char *words)
{
    robot.over = sounds_quiet_ms(&robot.sounds) < PAUSE_MS;
    robot.waits = true;
    robot.said++;
    print_message("%6.1f s %s: \"%s\"%s\n", seconds(), job_question_id(&robot.job), words,
                  robot.over ? ", interrupting" : "");
    assert_true(sounds_say(&robot.sounds, VOICE, words));
}

static void type(const char *entry)
{
    robot.over = false;
    robot.waits = true;
    robot.spoke_ms = sounds_now_ms();
    robot.typed++;
    print_message("%6.1f s %s: keys %s\n", seconds(), job_question_id(&robot.job), entry);
    assert_int_equal(dprintf(robot.keys, "%s\n", entry), (int)strlen(entry) + 1);
}

/* The keys of an answer, as the pad takes it; its words where they are easier to type. */
static void entry_of(const struct answer *answer, char *entry, size_t size)
{
    const struct language_value *value = &answer->value;
    const struct measure_length *length = &value->as.length;
    if (value->type == LANGUAGE_YESNO)
        snprintf(entry, size, "%s", value->as.yes ? "1" : "2");
    else if (value->type == LANGUAGE_CHOICE)
        snprintf(entry, size, "%d", value->as.choice + 1);
    else if (value->type == LANGUAGE_PHRASE)
        snprintf(entry, size, "%s", keypad_phrase_code(value->as.phrase));
    else if (value->type == LANGUAGE_TURN && value->as.turn.as_told)
        snprintf(entry, size, "1");
    else if (value->type == LANGUAGE_DISTANCE && length->unit == MEASURE_INCH)
        snprintf(entry, size, "%lld/%lld", (long long)length->num, (long long)length->den);
    else
        snprintf(entry, size, "%s", answer->words);
}

/* Whoever talks to a machine over noise learns to prefer the longer words for a thing. */
static void prefer_longer_words(struct answer *answer, const char *grammar)
{
    static const char *const longer[] = {"both of them", "nothing at all",
                                         "the engine is off and the key is out"};
    for (size_t i = 0; i < sizeof longer / sizeof longer[0]; i++)
        if (language_same_meaning(grammar, answer->words, longer[i]))
            snprintf(answer->words, sizeof answer->words, "%s", longer[i]);
    if (answer->value.type == LANGUAGE_YESNO)
        snprintf(answer->words, sizeof answer->words, "%s",
                 answer->value.as.yes ? "affirmative" : "negative");
}

/* What the technician answers to the question, looked up once: hands go to the bike for it. */
static void find_answer(void)
{
    struct answer *answer = &robot.answer;
    if (answer->open && answer->question == robot.job.question)
        return;
    static struct job_event event;
    technician_answer(&robot.technician, &robot.job, &event);
    if (strcmp(job_question_id(&robot.job), "proving.run") == 0)
        snprintf(event.words, sizeof event.words, "no"); /* no road, no exhaust hose: engine off */
    memset(answer, 0, sizeof *answer);
    answer->open = true;
    answer->question = robot.job.question;
    snprintf(answer->words, sizeof answer->words, "%s", event.words);
    assert_int_equal(language_parse(job_grammar(&robot.job), answer->words, &answer->value, NULL),
                     LANGUAGE_OK);
    prefer_longer_words(answer, job_grammar(&robot.job));
}

static void say_choice(int choice)
{
    char words[LANGUAGE_WORDS];
    struct language_value value = {.type = LANGUAGE_CHOICE, .as.choice = choice};
    assert_true(language_say(job_grammar(&robot.job), &value, words, sizeof words));
    say(robot.job.mode == JOB_STOPPED ? "carry on with the job" : words);
}

/* "Did you say ...?": the truth. */
static void confirm(void)
{
    const struct job *job = &robot.job;
    const struct answer *answer = &robot.answer;
    bool first = answer->open && language_equal(&job->held, &answer->value);
    bool second = answer->open && language_equal(&job->held_other, &answer->value);
    if (job->mode == JOB_SURE)
        say(first ? "affirmative" : "negative");
    else
        say_choice(first ? 0 : second ? 1 : 2);
}

static void take_back(void)
{
    if (robot.back_misses++ < MISSES)
        say("that is wrong");
    else
        type("-");
}

static void answer_now(void)
{
    char entry[LANGUAGE_WORDS];
    const struct job *job = &robot.job;
    if (robot.answer.misses >=
        MISSES + 2) { /* even a yes is not heard: by keys, whatever is asked */
        robot.answer.misses = 0;
        if (job->mode == JOB_SURE)
            type(language_equal(&job->held, &robot.answer.value) ? "1" : "2");
        else
            type(job->mode == JOB_STOPPED ? "1" : "+");
        return;
    }
    if (job->mode == JOB_STOPPED) {
        say_choice(0);
    } else if (job->mode == JOB_SURE || job->mode == JOB_WHICH) {
        confirm();
    } else if (robot.takes_back) {
        take_back();
    } else if (job->on_pad) {
        type("*+"); /* listen again */
    } else {
        find_answer();
        entry_of(&robot.answer, entry, sizeof entry);
        if (robot.answer.misses >= MISSES || !job_listens(job))
            type(entry);
        else
            say(robot.answer.words);
    }
}

/* A technician who knows the questions does not wait for their end: "stop" once, and every answer
 * but the confirmation of a caution, which has to be heard out. Once only: what was not understood
 * over midthrow's voice is said again when it is silent. */
static void interrupt(void)
{
    const struct job *job = &robot.job;
    uint64_t known = robot.loud_at_change + KNOWN_MS / 20;
    if (job->mode != JOB_ASKING || robot.sounds.loud_steps < known || !job_listens(job) ||
        robot.takes_back || robot.answer.misses > 0)
        return;
    if (strcmp(job_question_id(job), "intake.temperature") == 0 && !robot.said_stop) {
        robot.said_stop = true;
        say("stop");
    } else if (job_phrase(job) == LANGUAGE_NOT_YET) {
        find_answer();
        if (robot.answer.misses == 0)
            say(robot.answer.words);
    }
}

/* One moment of the technician's day. */
static void act(void)
{
    if (robot.events == 0 || sounds_is_saying(&robot.sounds)) {
        robot.spoke_ms = sounds_now_ms();
        return;
    }
    int64_t now = sounds_now_ms();
    bool speaks = sounds_quiet_ms(&robot.sounds) < PAUSE_MS;
    if (job_has_left(&robot.job) || robot.job.mode == JOB_FETCHING)
        return;
    if (robot.waits) {
        if (now - robot.spoke_ms < PATIENCE_MS || speaks)
            return;
        robot.unheard++;
        robot.answer.misses++;
        robot.waits = false;
    }
    if (speaks) {
        interrupt();
        return;
    }
    bool asked = robot.sounds.loud_steps > robot.loud_at_change;
    if (asked ? now - robot.changed_ms > 300 : now - robot.changed_ms > MUTE_MS)
        answer_now();
}

/* ---- the job ------------------------------------------------------------------------------- */

static bool midthrow_ended(int *status)
{
    if (robot.midthrow <= 0 || waitpid(robot.midthrow, status, WNOHANG) != robot.midthrow)
        return false;
    robot.midthrow = 0;
    return true;
}

static void the_whole_job_is_done_by_voice(void **state)
{
    (void)state;
    int status = -1;
    assert_true(sounds_begin(&robot.sounds, &robot.pulse, noise, noise_db, SEED));
    technician_begin_with(&robot.technician, SEED, REASON_PAWL);
    robot.technician.bike.rule_mm = 25.4 / 64;
    job_init(&robot.job);
    robot.began_ms = robot.spoke_ms = sounds_now_ms();
    start_midthrow();
    while (!midthrow_ended(&status)) {
        assert_true(sounds_step(&robot.sounds, STEP_MS));
        look();
        act();
        assert_true(sounds_now_ms() - robot.began_ms < LIMIT_MS);
    }
    robot.looked_ms = 0;
    look();
    print_message("%.0f s: said %d times: accepted %d, asked about %d, rejected %d, not heard %d; "
                  "misunderstood and taken back %d; typed %d; answered while midthrow spoke %d\n",
                  seconds(), robot.said, robot.accepted, robot.unsure, robot.rejected,
                  robot.unheard, robot.misunderstood, robot.typed, robot.answered_over);

    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
    assert_true(job_is_closed(&robot.job));
    assert_int_equal(robot.job.ending, JOB_FIXED);
    assert_int_equal(robot.job.centring, JOB_CENTRED);
    assert_true(robot.job.rounds >= 2);
    assert_int_equal(robot.job.cause, REASON_PAWL);
    assert_int_equal(robot.technician.hands_in_unsafe, 0);
    assert_int_equal(robot.technician.turns_over_increment, 0);
    assert_false(robot.takes_back);
    assert_int_equal(robot.stops_over, 1);
    assert_true(robot.answered_over >= 1);
    assert_true(robot.typed * 10 <= robot.said); /* by voice, not by keys */
}

static int begin(void **state)
{
    (void)state;
    return pulse_begin(&robot.pulse) ? 0 : -1;
}

/* Whatever happened: everything that was started ends here. */
static int end(void **state)
{
    (void)state;
    if (robot.midthrow > 0) {
        kill(robot.midthrow, SIGKILL);
        waitpid(robot.midthrow, NULL, 0);
        show_file("screen.txt");
        show_file("midthrow.log");
        show_file("robot.log");
    }
    if (robot.keys > 0)
        close(robot.keys);
    sounds_end(&robot.sounds);
    journal_close(robot.journal);
    pulse_end(&robot.pulse);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc != 2 && argc != 4)
        return 2;
    program = argv[1];
    if (argc == 4) {
        noise = argv[2];
        noise_db = atof(argv[3]);
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_whole_job_is_done_by_voice),
    };
    if (!pulse_is_installed()) {
        print_message("skipped: pulseaudio is not installed\n");
        return SKIPPED;
    }
    return cmocka_run_group_tests(tests, begin, end);
}
