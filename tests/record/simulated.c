/* Whole jobs from a seed: see simulated.h. */
#include "simulated.h"

#include <string.h>

#include "base/text.h"

/* 2026-11-25T09:14:03.120Z */
static const int64_t morning_ms = INT64_C(1795598043120);

void simulated_begin(struct simulated *simulated, uint64_t seed)
{
    technician_begin(&simulated->technician, seed);
    simulated->technician.distracted = seed % 4 == 3 ? 0.15 : 0;
    job_init(&simulated->job);
    memset(&simulated->event, 0, sizeof simulated->event);
    simulated->event.kind = JOB_OPENED;
    simulated->event.at_ms = morning_ms;
    simulated->event.names_n = 1;
    text_copy(simulated->event.names[0], sizeof simulated->event.names[0], "simulated");
    job_step(&simulated->job, &simulated->event, &simulated->effects);
}

void simulated_next(struct simulated *simulated)
{
    const int64_t at_ms = simulated->job.now_ms;
    if (simulated->job.mode == JOB_FETCHING) {
        memset(&simulated->event, 0, sizeof simulated->event);
        simulated->event.kind = JOB_PROFILE_READ;
        technician_profile(&simulated->technician, &simulated->event.profile);
        simulated->event.at_ms = at_ms + 4;
        return;
    }
    technician_answer(&simulated->technician, &simulated->job, &simulated->event);
    simulated->event.at_ms = at_ms + 7000 + simulated->technician.answers * 37 % 5000;
    struct dice *dice = &simulated->technician.dice;
    if (simulated->technician.distracted > 0 && simulated->job.mode == JOB_ASKING &&
        simulated->job.answers > 3 && dice_chance(dice, 0.03))
        text_copy(simulated->event.words, sizeof simulated->event.words, "go back");
}

void simulated_work(struct simulated *simulated, uint64_t seed, int events)
{
    simulated_begin(simulated, seed);
    for (int i = 0; i < events && !job_has_left(&simulated->job); i++) {
        simulated_next(simulated);
        job_step(&simulated->job, &simulated->event, &simulated->effects);
    }
}

void simulated_spoil(struct job *job)
{
    static const char markup[] = "</h1><script>alert(1)</script>";
    text_copy(job->order, sizeof job->order, "<b>\x1B[2J\"&");
    job->has_profile = true;
    text_copy(job->profile.title, sizeof job->profile.title, markup);
    text_copy(job->profile.name, sizeof job->profile.name, "a\" onload=\"x'<i>&amp;");
    text_copy(job->profile.source, sizeof job->profile.source,
              "<img src=x onerror=alert(1)> \x9B\xFF\xC0\xAF \xE2\x80\xAE ]]> <!-- \x7F\x01");
    job->corrections = 1;
    job->correction[0] = (struct job_correction){.id = "centring.forward", .at_ms = morning_ms};
    text_copy(job->correction[0].was, sizeof job->correction[0].was, "<svg onload=alert(1)>\n");
    text_copy(job->correction[0].became, sizeof job->correction[0].became, "'\"><style>*{}");
    if (job->checks < JOB_CHECKS_MAX) {
        struct job_check *check = &job->check[job->checks++];
        *check = (struct job_check){.what = "<em>what</em>", .cured = -1};
        text_copy(check->found, sizeof check->found, "</li></ul><a href='javascript:1'>");
    }
}
