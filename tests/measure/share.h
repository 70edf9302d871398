/*
 * A share counted in a simulation, with its 95 % interval: Wilson's score interval (Wilson,
 * Probable inference, the law of succession, and statistical inference, JASA 22 (1927), 209-212;
 * method 3 of Newcombe, Statistics in Medicine 17 (1998), 857-872).
 */
#ifndef MIDTHROW_TESTS_SHARE_H
#define MIDTHROW_TESTS_SHARE_H

struct share {
    double value;     /* 0 when nothing was counted */
    double low, high; /* 0 and 1 then */
};

struct share share_of(int count, int n); /* 0 <= count <= n */

#endif
