/*
 * What a shop's own closed jobs say about how often each cause comes in: a Dirichlet distribution
 * over the causes' shares. Its pseudo-counts are the jobs that the starting priors are worth; every
 * fixed job with a confirmed cause adds one to its cause, and the mean is what new jobs start from.
 * No pseudo-count is 0, so no cause is ever given up. (T. Bayes and P. S. de Laplace's rule of
 * succession for many causes; A. Gelman and others, Bayesian Data Analysis, section 3.4; from
 * memory.)
 *
 *     struct dirichlet shop;
 *     dirichlet_init(&shop, DIRICHLET_STRENGTH);
 *     dirichlet_learn(&shop, fixed);               // how many jobs of each cause
 *     dirichlet_mean(&shop, priors);               // for reason_init_with
 *
 * What learning can cost, against staying with the starting shares p. A is the sum of the starting
 * pseudo-counts, K the number of causes, n_c the jobs learned with cause c; the score of a job is
 * the log of the probability that the ranking gave its true cause.
 *
 *  1. Whatever the shop and the job, the score falls by at most ln(1 + max_c n_c/(A p_c)): each
 *     prior changes by the factor (1 + n_c/(A p_c)) / (1 + n/A), and the likelihoods are the same.
 *  2. If the starting shares are right, so that learning has nothing to find, the expected score
 *     falls by less than 0.2163 (K - 1)/A nats a job, for every n: dirichlet_cost. Our derivation:
 *     the expected fall is the divergence of the posteriors, not more than that of the priors,
 *     E KL(p || q) (chain rule of divergence: T. M. Cover and J. A. Thomas, Elements of Information
 *     Theory, section 2.5; from memory). The learned share is q_c = p_c (1 + u_c) with E u_c = 0,
 *     E u_c^2 = (1 - p_c)/p_c n/(A + n)^2 and u_c >= -s, s = n/(A + n). As (u - ln(1 + u))/u^2
 * falls with u, E KL <= (K - 1) n/(A + n)^2 (-s - ln(1 - s))/s^2 = (K - 1)/A g(s), where g(s) = (1
 * - s)(-s - ln(1 - s))/s has its maximum 0.21622 at s = 0.684.
 */
#ifndef MIDTHROW_REASON_DIRICHLET_H
#define MIDTHROW_REASON_DIRICHLET_H

#include <stdbool.h>
#include <stdint.h>

#include "reason/reason.h"

/* How many jobs the table of judgement is worth: judgement, no source. After so many jobs of its
 * own a shop's experience weighs as much as the table. */
#define DIRICHLET_STRENGTH 30.0

struct dirichlet {
    double count[REASON_CAUSE_COUNT]; /* pseudo-counts, each finite and above 0 */
};

/* The table's shares, worth `strength` jobs altogether (DIRICHLET_STRENGTH if it is no number above
 * 0). */
void dirichlet_init(struct dirichlet *dirichlet, double strength);

/* Adds jobs, so many of each cause; a number below 0 counts as none. */
void dirichlet_learn(struct dirichlet *dirichlet, const int64_t jobs[REASON_CAUSE_COUNT]);

/* The shares that are expected; they sum to 1. */
void dirichlet_mean(const struct dirichlet *dirichlet, double share[REASON_CAUSE_COUNT]);

/* All pseudo-counts together: jobs it is worth. */
double dirichlet_strength(const struct dirichlet *dirichlet);

/* Bound 2 above for learning that starts here, in nats a job. */
double dirichlet_cost(const struct dirichlet *start);

/* Bound 1 above for what `now` learned since `start`, in nats. */
double dirichlet_worst(const struct dirichlet *start, const struct dirichlet *now);

#endif
