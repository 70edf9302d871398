/* Wilson's score interval: see share.h. */
#include "share.h"

#include <math.h>

struct share share_of(int count, int n)
{
    if (n <= 0)
        return (struct share){0, 0, 1};
    const double z = 1.959963984540054; /* two-sided 95 % */
    double size = n, p = count / size, scale = 1 + z * z / size;
    double middle = (p + z * z / (2 * size)) / scale;
    double half = z * sqrt(p * (1 - p) / size + z * z / (4 * size * size)) / scale;
    return (struct share){p, fmax(middle - half, 0), fmin(middle + half, 1)};
}
