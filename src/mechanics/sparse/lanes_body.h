/* The loops of lanes.h for one instruction set: LANES_TARGET is its attribute, LANES_NAME(f) names
 * a function of it, LANES_TEXT is its name. Included by lanes.c, once for each. */

/* One block of rows, `count` times 8 of them, and `width` columns: the accumulators stay in
 * registers. */
#define LANES_BLOCK(COUNT, WIDTH)                                                                  \
    do {                                                                                           \
        lanes sum[COUNT][WIDTH];                                                                   \
        for (int i = 0; i < COUNT; i++)                                                            \
            for (int j = 0; j < WIDTH; j++)                                                        \
                sum[i][j] = fresh ? (lanes){0} : *(lanes *)(c + 8 * i + (size_t)j * stride_c);     \
        const double *from = l, *by = w;                                                           \
        for (int k = 0; k < depth; k++, from += stride, by += 4)                                   \
            for (int i = 0; i < COUNT; i++) {                                                      \
                const lanes v = *(const lanes *)(from + 8 * i);                                    \
                for (int j = 0; j < WIDTH; j++) sum[i][j] -= v * by[j];                            \
            }                                                                                      \
        for (int i = 0; i < COUNT; i++)                                                            \
            for (int j = 0; j < WIDTH; j++)                                                        \
                *(lanes *)(c + 8 * i + (size_t)j * stride_c) = sum[i][j];                          \
        l += 8 * COUNT, c += 8 * COUNT, rows -= 8 * COUNT;                                         \
    } while (0)

#define LANES_SUBTRACT(WIDTH)                                                                      \
    LANES_TARGET static void LANES_NAME(subtract_##WIDTH)(int rows, int depth, const double *l,    \
                                                          size_t stride, const double *w,          \
                                                          int fresh, double *c, size_t stride_c)   \
    {                                                                                              \
        while (rows > 8) LANES_BLOCK(2, WIDTH);                                                    \
        if (rows > 0) LANES_BLOCK(1, WIDTH);                                                       \
    }

LANES_SUBTRACT(1)
LANES_SUBTRACT(2)
LANES_SUBTRACT(3)
LANES_SUBTRACT(4)

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
    for (int r = 0; r < rows; r += 8, c += 8) {
        lanes x[4];
        for (int j = 0; j < width; j++) {
            x[j] = *(lanes *)(c + (size_t)j * stride_c);
            for (int k = 0; k < j; k++) x[j] -= x[k] * t[4 * j + k];
        }
        for (int j = 0; j < width; j++) *(lanes *)(c + (size_t)j * stride_c) = x[j] * inverse[j];
    }
}

LANES_TARGET static void LANES_NAME(dot)(int rows, int width, const double *l, size_t stride,
                                         const double *b, double out[4])
{
    lanes sum[4] = {{0}, {0}, {0}, {0}};
    for (int r = 0; r < rows; r += 8) {
        const lanes v = *(const lanes *)(b + r);
        for (int j = 0; j < width; j++) sum[j] += *(const lanes *)(l + r + (size_t)j * stride) * v;
    }
    for (int j = 0; j < width; j++)
        out[j] = ((sum[j][0] + sum[j][4]) + (sum[j][2] + sum[j][6])) +
                 ((sum[j][1] + sum[j][5]) + (sum[j][3] + sum[j][7]));
}

static const sp_lanes LANES_NAME(table) = {LANES_TEXT, LANES_NAME(subtract), LANES_NAME(divide),
                                           LANES_NAME(dot)};

#undef LANES_BLOCK
#undef LANES_SUBTRACT
#undef LANES_TARGET
#undef LANES_NAME
#undef LANES_TEXT
