/* These are the loops of lanes.h for one instruction set: LANES_TARGET is its attribute,
 * LANES_NAME(f) names a function of it, LANES_TEXT is its name, LANES_TYPE as many doubles as one
 * of its registers holds, LANES_OF(x) all of them x, LANES_ADD(c, a, b) is c + a b and
 * LANES_SUBTRACT(c, a, b) is c - a b, each rounded once where LANES_FUSED is 1. lanes.c includes
 * this file once for each instruction set. */

#define LANES (int)(sizeof(LANES_TYPE) / sizeof(double))
#define LANES_AT(p) (*(LANES_TYPE *)(p))
#define LANES_FROM(p) (*(const LANES_TYPE *)(p))

/* Work on one block of rows, `COUNT` registers of them, and `WIDTH` columns: the sums stay in
 * registers. */
#define LANES_BLOCK(COUNT, WIDTH)                                                                  \
    do {                                                                                           \
        LANES_TYPE sum[COUNT][WIDTH];                                                              \
        for (int i = 0; i < COUNT; i++)                                                            \
            for (int j = 0; j < WIDTH; j++)                                                        \
                sum[i][j] =                                                                        \
                    fresh ? (LANES_TYPE){0} : LANES_FROM(c + LANES * i + (size_t)j * stride_c);    \
        const double *from = l, *by = w;                                                           \
        for (int k = 0; k < depth; k++, from += stride, by += 4)                                   \
            for (int j = 0; j < WIDTH; j++) {                                                      \
                const LANES_TYPE factor = LANES_OF(by[j]);                                         \
                for (int i = 0; i < COUNT; i++)                                                    \
                    sum[i][j] = LANES_SUBTRACT(sum[i][j], LANES_FROM(from + LANES * i), factor);   \
            }                                                                                      \
        for (int i = 0; i < COUNT; i++)                                                            \
            for (int j = 0; j < WIDTH; j++)                                                        \
                LANES_AT(c + LANES * i + (size_t)j * stride_c) = sum[i][j];                        \
        l += LANES * COUNT, c += LANES * COUNT, rows -= LANES * COUNT;                             \
    } while (0)

#define LANES_COLUMNS(WIDTH)                                                                       \
    LANES_TARGET static void LANES_NAME(subtract_##WIDTH)(int rows, int depth, const double *l,    \
                                                          size_t stride, const double *w,          \
                                                          int fresh, double *c, size_t stride_c)   \
    {                                                                                              \
        rows = (rows + 7) / 8 * 8;                                                                 \
        while (rows > LANES) LANES_BLOCK(2, WIDTH);                                                \
        if (rows > 0) LANES_BLOCK(1, WIDTH);                                                       \
    }

LANES_COLUMNS(1)
LANES_COLUMNS(2)
LANES_COLUMNS(3)
LANES_COLUMNS(4)

static void LANES_NAME(subtract)(int rows, int depth, int width, const double *l, size_t stride,
                                 const double *w, int fresh, double *c, size_t stride_c)
{
    switch (width) {
    case 1:
        LANES_NAME(subtract_1)(rows, depth, l, stride, w, fresh, c, stride_c);
        break;
    case 2:
        LANES_NAME(subtract_2)(rows, depth, l, stride, w, fresh, c, stride_c);
        break;
    case 3:
        LANES_NAME(subtract_3)(rows, depth, l, stride, w, fresh, c, stride_c);
        break;
    default:
        LANES_NAME(subtract_4)(rows, depth, l, stride, w, fresh, c, stride_c);
    }
}

LANES_TARGET static void LANES_NAME(divide)(int rows, int width, const double t[16],
                                            const double inverse[4], double *c, size_t stride_c)
{
    rows = (rows + 7) / 8 * 8;
    for (int r = 0; r < rows; r += LANES, c += LANES) {
        LANES_TYPE x[4];
        for (int j = 0; j < width; j++) {
            x[j] = LANES_FROM(c + (size_t)j * stride_c);
            for (int k = 0; k < j; k++) x[j] = LANES_SUBTRACT(x[j], x[k], LANES_OF(t[4 * j + k]));
        }
        for (int j = 0; j < width; j++)
            LANES_AT(c + (size_t)j * stride_c) = x[j] * LANES_OF(inverse[j]);
    }
}

#define LANES_DOT(WIDTH)                                                                           \
    LANES_TARGET static void LANES_NAME(dot_##WIDTH)(int rows, const double *l, size_t stride,     \
                                                     const double *b, double out[WIDTH])           \
    {                                                                                              \
        LANES_TYPE part[WIDTH][8 / LANES];                                                         \
        for (int j = 0; j < WIDTH; j++)                                                            \
            for (int i = 0; i < 8 / LANES; i++) part[j][i] = (LANES_TYPE){0};                      \
        for (int r = 0; r < rows; r += 8)                                                          \
            for (int i = 0; i < 8 / LANES; i++) {                                                  \
                const LANES_TYPE v = LANES_FROM(b + r + LANES * i);                                \
                for (int j = 0; j < WIDTH; j++)                                                    \
                    part[j][i] = LANES_ADD(part[j][i],                                             \
                                           LANES_FROM(l + r + LANES * i + (size_t)j * stride), v); \
            }                                                                                      \
        for (int j = 0; j < WIDTH; j++) {                                                          \
            double sum[8];                                                                         \
            for (int i = 0; i < 8 / LANES; i++) LANES_AT(sum + LANES * i) = part[j][i];            \
            out[j] =                                                                               \
                ((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7])); \
        }                                                                                          \
    }

LANES_DOT(1)
LANES_DOT(4)

static void LANES_NAME(dot)(int rows, int width, const double *l, size_t stride, const double *b,
                            double out[4])
{
    if (width == 4) {
        LANES_NAME(dot_4)(rows, l, stride, b, out);
        return;
    }
    for (int j = 0; j < width; j++, l += stride) LANES_NAME(dot_1)(rows, l, stride, b, out + j);
}

LANES_TARGET static void LANES_NAME(scatter)(int count, const int *target, const int *run,
                                             const double *from, double *to)
{
    for (int i = 0; i < count;) {
        const double *a = from + i;
        double *c = to + target[i];
        int left = run[i];
        i += left;
        for (; left >= LANES; left -= LANES, a += LANES, c += LANES)
            LANES_AT(c) = LANES_FROM(c) + LANES_FROM(a);
        for (; left >= 2; left -= 2, a += 2, c += 2) *(two *)c = *(const two *)c + *(const two *)a;
        if (left > 0) *c += *a;
    }
}

static const sp_lanes LANES_NAME(table) = {LANES_TEXT,           LANES_FUSED,
                                           LANES_NAME(subtract), LANES_NAME(divide),
                                           LANES_NAME(dot),      LANES_NAME(scatter)};

#undef LANES
#undef LANES_AT
#undef LANES_FROM
#undef LANES_BLOCK
#undef LANES_COLUMNS
#undef LANES_DOT
#undef LANES_TARGET
#undef LANES_NAME
#undef LANES_TEXT
#undef LANES_FUSED
#undef LANES_TYPE
#undef LANES_OF
#undef LANES_ADD
#undef LANES_SUBTRACT
