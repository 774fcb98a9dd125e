/* Symbols as in in_time.h; th = dt/tau of a branch, a = (1 - exp(-th))/th, b = exp(-th). */
#include "law/in_time.h"

#include <math.h>
#include <string.h>

#include "case/case_parts.h"
#include "law/flow.h"
#include "law/invariants.h"

/* What the branches of one strain store. The first of these members are all that `eval` reads. */
enum {
    STRAIN,      /* strain at the last accepted state */
    STRESS,      /* stress of all linear branches at the end of the step, if the strain stayed */
    SLOPE,       /* sum of a E */
    STEP,        /* dt [s] */
    WORK_STRESS, /* sum of a sig */
    WORK_SLOPE,  /* sum of E (1 - a)/th */
    WORK,        /* stored and dissipated so far by branches and flow */
    RELAXED,     /* dissipated by branches */
    FLOWED,      /* dissipated by flow */
    BRANCH       /* and the following: true stress of each branch, then FLOW_COUNT for each branch
                    that flows */
};
/* What a branch that flows stores: */
enum {
    FLOW_STRESS, /* its stress over s at the last accepted state */
    FLOW_REST,   /* and what E127 needs of the step, see law/flow.h */
    FLOW_LAG,
    FLOW_COUNT
};
/* Before those a fibre stores: */
enum {
    LARGEST,    /* largest W0 so far */
    DISSIPATED, /* dissipated in all ways */
    SOFTENED,   /* dissipated by softening */
    BRANCHES,   /* and the following: as above; then what the law itself stores */
};

static const double largest_exponent = 0.5;
static const int most_halvings = 60;

/* ---- one step of a branch ---- */

/* Return (1 - exp(-th))/th. */
static double mean_decay(double th)
{
    return th < 1e-9 ? 1 - 0.5 * th : -expm1(-th) / th;
}

/* Return (1 - a)/th, by its series where the difference cancels. */
static double work_share(double th)
{
    return th < 1e-3 ? 0.5 - th * (1.0 / 6 - th * (1.0 / 24 - th / 120))
                     : (1 - mean_decay(th)) / th;
}

/* Return (1 - a)/th - a^2/2: what an even step dissipates of E de^2 (E123). */
static double lost_share(double th)
{
    if (th < 1e-3) return th * (1.0 / 3 - th * (1.0 / 4 - th * (7.0 / 60 - th / 24)));
    const double a = mean_decay(th);
    return (1 - a) / th - 0.5 * a * a;
}

/* These are the factors of a step of dt for each branch, computed once for all fibres. */
typedef struct parts {
    double gone[SP_LAW_BRANCHES], a[SP_LAW_BRANCHES]; /* 1 - b, a */
    double work[SP_LAW_BRANCHES], lost[SP_LAW_BRANCHES];
} parts;

static void find_parts(const sp_law_time *time, double dt, parts *p)
{
    for (int i = 0; i < time->branch_count; i++) {
        const double th = dt / time->branch_time[i];
        p->a[i] = th > 0 ? mean_decay(th) : 1;
        p->gone[i] = p->a[i] * th;
        p->work[i] = th > 0 ? work_share(th) : 0.5;
        p->lost[i] = th > 0 ? lost_share(th) : 0;
    }
}

/* Return what a branch of spring E and stress sig dissipates over a step (E123): it is nowhere
 * below 0. */
static double branch_lost(const parts *p, int i, double spring, double sig, double de)
{
    const double gone = p->gone[i];
    return fmax(0, de * p->a[i] * sig * gone + spring * de * de * p->lost[i] +
                       gone * (2 - gone) * sig * sig / (2 * spring));
}

/* ---- the branches of one strain ---- */

/* Young's modulus of the fibre (or 1 per stiffness), and what an s in MPa is divided by to be in
 * the same unit. */
typedef struct scale {
    double modulus, stress_unit;
} scale;

static scale fibre_scale(const sp_law *law)
{
    return (scale){law->time.young, 1};
}

/* A shear stress of s/sqrt 3 flows as the stress s of a fibre does (von Mises 1913). */
static scale scalar_scale(const sp_law *law, double length)
{
    return (scale){1, sqrt(3) * law->shear_modulus * length};
}

/* How many doubles the branches of one strain keep. */
static int branches_count(const sp_law_time *time)
{
    return BRANCH + time->branch_count + FLOW_COUNT * time->flow_count;
}

/* A branch that flows: its spring, its s, and their quotients in the same unit. */
typedef struct flow_step {
    double spring, s, unit; /* unit: s^2/E */
    double before;          /* its stress at the last accepted state, over s */
    sp_law_flow step;
} flow_step;

/* Return where a branch that flows stores. */
static int flow_place(const sp_law_time *time, int i)
{
    return BRANCH + time->branch_count + FLOW_COUNT * i;
}

static flow_step flow_at(const sp_law_time *time, scale s, int i, const double *h)
{
    const double spring = time->flow_share[i] * s.modulus,
                 stress = time->flow_stress[i] / s.stress_unit;
    const double *flow = h + flow_place(time, i);
    return (flow_step){spring,
                       stress,
                       stress * stress / spring,
                       flow[FLOW_STRESS],
                       {flow[FLOW_REST], flow[FLOW_LAG]}};
}

/* Find the energy of the step, stress and slope at strain e. */
static sp_law_scalar branches_eval(const sp_law_time *time, scale s, double e, const double *h)
{
    const double de = e - h[STRAIN];
    sp_law_scalar out = {de * (h[STRESS] + 0.5 * h[SLOPE] * de), h[STRESS] + h[SLOPE] * de,
                         h[SLOPE]};
    for (int i = 0; i < time->flow_count; i++) {
        const flow_step f = flow_at(time, s, i, h);
        const double x = sp_law_flow_end(f.step, f.spring * de / f.s), half = sinh(0.5 * x);
        /* The bracket is x sinh x - (cosh x - 1). */
        out.energy += f.unit * (0.5 * x * x + f.step.lag * (x * sinh(x) - 2 * half * half));
        out.force += f.s * x;
        out.slope += f.spring / (1 + f.step.lag * cosh(x));
    }
    return out;
}

static void branches_arm(const sp_law_time *time, scale s, double dt, const parts *p, double *h)
{
    h[STEP] = dt;
    h[STRESS] = h[SLOPE] = h[WORK_STRESS] = h[WORK_SLOPE] = 0;
    for (int i = 0; i < time->branch_count; i++) {
        const double spring = time->branch_share[i] * s.modulus, sig = h[BRANCH + i];
        h[STRESS] += (1 - p->gone[i]) * sig;
        h[SLOPE] += p->a[i] * spring;
        h[WORK_STRESS] += p->a[i] * sig;
        h[WORK_SLOPE] += spring * p->work[i];
    }
    for (int i = 0; i < time->flow_count; i++) {
        double *flow = h + flow_place(time, i);
        const sp_law_flow step = sp_law_flow_ready(flow[FLOW_STRESS], dt / time->flow_time[i]);
        flow[FLOW_REST] = step.rest;
        flow[FLOW_LAG] = step.lag;
    }
}

/* Find the flow of branch i over a step that ends at strain e: where it ends, what it dissipates on
 * the way and what it adds to the stored energy. */
static double flow_ends(const sp_law_time *time, scale s, int i, double e, const double *h,
                        double *lost, double *stored)
{
    const flow_step f = flow_at(time, s, i, h);
    const double pulled = f.spring * (e - h[STRAIN]) / f.s, y = f.before + pulled;
    const double x = sp_law_flow_end(f.step, pulled);
    *lost = f.unit * fmax(0, 0.5 * (x + f.before) * (y - x)); /* mean stress times flow */
    *stored = f.unit * 0.5 * (x + f.before) * (x - f.before);
    return x;
}

static double branches_spent(const sp_law_time *time, scale s, double e, const double *h)
{
    const double de = e - h[STRAIN];
    double sum = h[WORK] + de * (h[WORK_STRESS] + de * h[WORK_SLOPE]);
    for (int i = 0; i < time->flow_count; i++) {
        double lost, stored;
        flow_ends(time, s, i, e, h, &lost, &stored);
        sum = sum + lost + stored;
    }
    return sum;
}

/* Make the branches ready for a step that takes no time. */
static void branches_keep(const sp_law_time *time, scale s, double e, const parts *p,
                          const parts *none, double *h)
{
    const double de = e - h[STRAIN];
    h[WORK] = branches_spent(time, s, e, h);
    for (int i = 0; i < time->flow_count; i++) {
        double lost, stored;
        h[flow_place(time, i) + FLOW_STRESS] = flow_ends(time, s, i, e, h, &lost, &stored);
        h[FLOWED] += lost;
    }
    for (int i = 0; i < time->branch_count; i++) {
        const double spring = time->branch_share[i] * s.modulus;
        double *sig = &h[BRANCH + i];
        h[RELAXED] += branch_lost(p, i, spring, *sig, de);
        *sig = (1 - p->gone[i]) * *sig + p->a[i] * spring * de;
    }
    h[STRAIN] = e;
    branches_arm(time, s, 0, none, h);
}

/* ---- softening, E120 .. E121 ---- */

/* Return x erf x + exp(-x^2)/sqrt pi, less its value at 0. */
static double erf_integral(double x)
{
    return x * erf(x) + expm1(-x * x) / sqrt(M_PI);
}

static double softening_width(const sp_law_time *time, double largest)
{
    return time->softening_energy + time->softening_share * largest;
}

double sp_law_softening_lost(const sp_law_time *time, double largest)
{
    const double width = softening_width(time, largest);
    return largest > 0 ? width / time->softening_ratio * erf_integral(largest / width) : 0;
}

/* Where w equals `largest`, the fibre continues as one that is loaded for the first time, because
 * an accepted state stands exactly there (Hill 1958, as in yielding.c). */
void sp_law_soften(const sp_law_time *time, double largest, double *w, double *p, double *a)
{
    if (!(*w < largest * (1 - 1e-12))) return;
    const double width = softening_width(time, largest), r = time->softening_ratio;
    const double x = (largest - *w) / width, eta = 1 - erf(x) / r;
    const double slope = 2 / (r * width * sqrt(M_PI)) * exp(-x * x);
    *a = eta * *a + slope * *p * *p;
    *p *= eta;
    *w += width / r * erf_integral(x); /* Psi(w) + D(largest) */
}

/* ---- a fibre ---- */

static const double *own_history(const sp_law *law, const double *h)
{
    return h + BRANCHES + branches_count(&law->time);
}

/* Evaluate the law itself, without branches, for n fibres. */
static void eval_itself(const sp_law *law, int n, const double *stretch, const double *history,
                        double *w, double *p, double *a)
{
    const sp_law_history *own = law->own;
    if (!own) {
        law->row->eval(law, n, stretch, w, p, a);
        for (int i = 0; law->time.softening_ratio > 0 && i < n; i++)
            sp_law_soften(&law->time, history[law->history_count * i + LARGEST], &w[i], &p[i],
                          &a[i]);
        return;
    }
    for (int i = 0; i < n; i++)
        own->eval(law, 1, &stretch[i], own_history(law, history + law->history_count * i), &w[i],
                  &p[i], &a[i]);
}

static void eval(const sp_law *law, int n, const double *stretch, const double *history, double *w,
                 double *p, double *a)
{
    const sp_law_time *time = &law->time;
    const scale s = fibre_scale(law);
    const double k = time->factor;
    eval_itself(law, n, stretch, history, w, p, a);
    for (int i = 0; i < n; i++) {
        const double l = sp_law_inside(stretch[i]), inverse = 1 / l;
        const double *h = history + law->history_count * i + BRANCHES;
        const sp_law_scalar v = branches_eval(time, s, k * log(l), h);
        w[i] = sp_law_energy(stretch[i], time->left * w[i] + v.energy);
        p[i] = time->left * p[i] + k * v.force * inverse;
        a[i] = time->left * a[i] + k * (k * v.slope - v.force) * inverse * inverse;
    }
}

static void keep(const sp_law *law, int n, const double *stretch, double *history)
{
    const sp_law_time *time = &law->time;
    const sp_law_history *own = law->own;
    parts step, none;
    find_parts(time, n > 0 ? history[BRANCHES + STEP] : 0, &step);
    find_parts(time, 0, &none);
    for (int i = 0; i < n; i++) {
        double *h = history + law->history_count * i, w, p, a, lost = 0;
        if (own) {
            double *itself = h + (own_history(law, h) - h);
            own->keep(law, 1, &stretch[i], itself);
            lost = time->left * itself[own->dissipated];
        } else {
            law->row->eval(law, 1, &stretch[i], &w, &p, &a);
            h[LARGEST] = fmax(h[LARGEST], w);
        }
        if (time->softening_ratio > 0)
            lost = h[SOFTENED] = time->left * sp_law_softening_lost(time, h[LARGEST]);
        branches_keep(time, fibre_scale(law), time->factor * log(sp_law_inside(stretch[i])), &step,
                      &none, h + BRANCHES);
        h[DISSIPATED] = lost + h[BRANCHES + RELAXED] + h[BRANCHES + FLOWED];
    }
}

static const sp_law_history in_time = {.dissipated = DISSIPATED, .eval = eval, .keep = keep};

void sp_law_arm(const sp_law *law, double dt, int n, double *history)
{
    parts step;
    if (!law->time.on) return;
    find_parts(&law->time, dt, &step);
    for (int i = 0; i < n; i++)
        branches_arm(&law->time, fibre_scale(law), dt, &step,
                     history + law->history_count * i + BRANCHES);
}

double sp_law_spent(const sp_law *law, int n, const double *stretch, const double *weight,
                    const double *history)
{
    double sum = 0;
    for (int i = 0; i < n; i++) {
        const double *h = history + law->history_count * i;
        double w, p, a;
        if (!law->time.on) {
            sp_law_eval(law, 1, &stretch[i], h, &w, &p, &a);
            sum += weight[i] * w;
            continue;
        }
        eval_itself(law, 1, &stretch[i], h, &w, &p, &a);
        sum += weight[i] * (law->time.left * w + branches_spent(&law->time, fibre_scale(law),
                                                                law->time.factor * log(stretch[i]),
                                                                h + BRANCHES));
    }
    return sum;
}

void sp_law_add_lost(const sp_law *law, int n, const double *weight, const double *history,
                     sp_law_lost *lost)
{
    for (int i = 0; law->time.on && i < n; i++) {
        const double *h = history + law->history_count * i;
        lost->softened += weight[i] * h[SOFTENED];
        lost->relaxed += weight[i] * h[BRANCHES + RELAXED];
        lost->flowed += weight[i] * h[BRANCHES + FLOWED];
    }
}

/* ---- scalars ---- */

int sp_law_scalar_count(const sp_law *law)
{
    return law->time.on ? branches_count(&law->time) : 0;
}

sp_law_scalar sp_law_scalar_eval(const sp_law *law, double length, double strain,
                                 const double *history)
{
    if (!history || !law->time.on) return (sp_law_scalar){0.5 * strain * strain, strain, 1};
    const double left = law->time.left;
    sp_law_scalar v = branches_eval(&law->time, scalar_scale(law, length), strain, history);
    v.energy += left * 0.5 * strain * strain;
    v.force += left * strain;
    v.slope += left;
    return v;
}

void sp_law_scalars_arm(const sp_law *law, double dt, int n, int stride, double *history)
{
    parts step;
    find_parts(&law->time, dt, &step);
    for (int i = 0; i < n; i++)
        branches_arm(&law->time, scalar_scale(law, 1), dt, &step,
                     history + (size_t)stride * (size_t)i);
}

void sp_law_scalar_arm(const sp_law *law, double dt, double *history)
{
    sp_law_scalars_arm(law, dt, 1, 0, history);
}

void sp_law_scalars_keep(const sp_law *law, double length, int n, const double *strain, int stride,
                         double *history)
{
    parts step, none;
    find_parts(&law->time, n > 0 ? history[STEP] : 0, &step);
    find_parts(&law->time, 0, &none);
    for (int i = 0; i < n; i++)
        branches_keep(&law->time, scalar_scale(law, length), strain[i], &step, &none,
                      history + (size_t)stride * (size_t)i);
}

void sp_law_scalar_keep(const sp_law *law, double length, double strain, double *history)
{
    sp_law_scalars_keep(law, length, 1, &strain, 0, history);
}

double sp_law_scalar_spent(const sp_law *law, double length, double strain, const double *history)
{
    if (!law->time.on) return 0.5 * strain * strain;
    return law->time.left * 0.5 * strain * strain +
           branches_spent(&law->time, scalar_scale(law, length), strain, history);
}

void sp_law_scalar_add_lost(double stiffness, const double *history, sp_law_lost *lost)
{
    lost->relaxed += stiffness * history[RELAXED];
    lost->flowed += stiffness * history[FLOWED];
}

/* ---- preparing ---- */

/* E125: find B_y(n, 1 - n) sin(pi n)/pi by its series in y = free/(held + free), below 1/2 or from
 * the other side. */
double sp_law_set_of_exponent(double n, double held, double free)
{
    const double y = free / (held + free), small = fmin(y, 1 - y);
    const double one = y <= 0.5 ? n : 1 - n, other = 1 - one;
    double term = pow(small, one), sum = 0;
    for (int k = 0; k < 200; k++) {
        sum += term / (one + k);
        term *= (1 - other + k) / (k + 1) * small;
    }
    const double part = sum * sin(M_PI * n) / M_PI;
    return y <= 0.5 ? 1 - part : part;
}

double sp_law_exponent_of_set(double set, double held, double free)
{
    double low = 0, high = largest_exponent;
    if (sp_law_set_of_exponent(high, held, free) < set) return 0;
    for (int i = 0; i < most_halvings; i++) {
        const double middle = 0.5 * (low + high);
        if (sp_law_set_of_exponent(middle, held, free) < set)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* Return the share that branches and flow carry at the reference. */
static double carried(const sp_case *request, const sp_law_time *time)
{
    const double at = request->relaxation_reference;
    double sum = 0;
    for (int i = 0; i < time->flow_count; i++)
        sum += time->flow_share[i] * exp(-at / time->flow_time[i]);
    for (int i = 0; i < time->branch_count; i++)
        sum += time->branch_share[i] * exp(-at / time->branch_time[i]);
    return sum;
}

/* E125: take one branch per decade, so that E(t) goes as t^-n; what longer branches would carry is
 * left for ever. All of it is scaled so that law, branches and flow together are the whole modulus
 * at the reference. */
static void take_exponent(const sp_case *request, double n, sp_law_time *time)
{
    const int first = (int)lround(log10(request->relaxation_shortest)),
              last = (int)lround(log10(request->relaxation_longest));
    const double step = (pow(10, 0.5 * n) - pow(10, -0.5 * n)) / tgamma(1 + n);
    const double flow = carried(request, time);
    for (int i = first; i <= last; i++) {
        time->branch_share[time->branch_count] = pow(10, -n * i) * step;
        time->branch_time[time->branch_count++] = pow(10, i);
    }
    const double power = carried(request, time) - flow + pow(10, -n * (last + 0.5)) / tgamma(1 + n);
    for (int i = 0; i < time->branch_count; i++) time->branch_share[i] *= (1 - flow) / power;
}

static sp_status take_table(sp_context *context, const sp_case *request, sp_law_time *time)
{
    const sp_list *share = &request->relaxation_shares, *times = &request->relaxation_times;
    if (share->count == 0) return SP_OK; /* times alone are ignored */
    if (share->count != times->count)
        return sp_fail(context, SP_BAD_CASE,
                       "material.relaxation: received %d shares and %d times; valid: one time for "
                       "every share",
                       share->count, times->count);
    for (int i = 0; i < share->count; i++) {
        time->branch_share[i] = share->value[i];
        time->branch_time[i] = times->value[i];
    }
    time->branch_count = share->count;
    return SP_OK;
}

static sp_status take_set(sp_context *context, const sp_case *request, sp_law_time *time)
{
    const double n = sp_law_exponent_of_set(request->relaxation_set, request->relaxation_held,
                                            request->relaxation_free);
    if (!(n > 0))
        return sp_fail(context, SP_BAD_CASE,
                       "material.relaxation.compression_set: received %g %% after %g h; valid: at "
                       "most %.0f %%, of an exponent of %g",
                       100 * request->relaxation_set, request->relaxation_held / 3600,
                       100 * sp_law_set_of_exponent(largest_exponent, request->relaxation_held,
                                                    request->relaxation_free),
                       largest_exponent);
    take_exponent(request, n, time);
    return SP_OK;
}

static sp_status take_branches(sp_context *context, const sp_case *request, sp_law_time *time)
{
    const int ways = (request->relaxation_exponent > 0) + (request->relaxation_set > 0) +
                     (request->relaxation_shares.count > 0);
    if (ways > 1)
        return sp_fail(context, SP_BAD_CASE,
                       "material.relaxation: received %d of exponent, compression_set and shares; "
                       "valid: one of them",
                       ways);
    if (request->relaxation_shortest > request->relaxation_longest)
        return sp_fail(context, SP_BAD_CASE,
                       "material.relaxation.shortest: received %g s; valid: at most "
                       "material.relaxation.longest, %g s",
                       request->relaxation_shortest, request->relaxation_longest);
    if (request->relaxation_set > 0) return take_set(context, request, time);
    if (request->relaxation_exponent > 0)
        take_exponent(request, request->relaxation_exponent, time);
    else
        return take_table(context, request, time);
    return SP_OK;
}

/* Find what is left of the law for ever, such that its modulus is that of a test as long as the
 * reference (E122). */
static sp_status take_left(sp_context *context, const sp_case *request, sp_law_time *time)
{
    time->left = 1 - carried(request, time);
    if (time->left > 0) return SP_OK;
    return sp_fail(context, SP_BAD_CASE,
                   "material.relaxation: the branches carry %.4g of the modulus at "
                   "material.relaxation.reference = %g s; valid: less than all of it",
                   1 - time->left, request->relaxation_reference);
}

static sp_status take_softening(sp_context *context, const sp_case *request, const sp_law *law,
                                sp_law_time *time)
{
    time->softening_ratio = request->softening_ratio > 0 ? request->softening_ratio : 0;
    time->softening_energy = request->softening_energy;
    time->softening_share = request->softening_share;
    if (!(time->softening_ratio > 0)) return SP_OK;
    if (law->own)
        return sp_fail(context, SP_BAD_CASE,
                       "material.softening.ratio: received %g with law %s; valid: a law that gives "
                       "its work back, see `list laws`",
                       time->softening_ratio, law->row->name);
    if (time->softening_energy > 0 || time->softening_share > 0) return SP_OK;
    return sp_fail(context, SP_BAD_CASE,
                   "material.softening: received a ratio without energy and share; valid: one of "
                   "them above 0");
}

/* Take a branch that flows; `group` is the name of its keys. */
static sp_status take_flow(sp_context *context, const char *group, double share, double stress,
                           double seconds, sp_law_time *time)
{
    if (!(share > 0)) return SP_OK;
    if (!(stress > 0) || !(seconds > 0))
        return sp_fail(context, SP_BAD_CASE,
                       "material.%s: received a share of %g without %s; valid: share, stress and "
                       "time",
                       group, share, stress > 0 ? "time" : "stress");
    time->flow_share[time->flow_count] = share;
    time->flow_stress[time->flow_count] = stress;
    time->flow_time[time->flow_count++] = seconds;
    return SP_OK;
}

static sp_status take_flows(sp_context *context, const sp_case *request, sp_law_time *time)
{
    const sp_status status = take_flow(context, "flow", request->flow_share, request->flow_stress,
                                       request->flow_time, time);
    return status == SP_OK ? take_flow(context, "second_flow", request->second_flow_share,
                                       request->second_flow_stress, request->second_flow_time, time)
                           : status;
}

sp_status sp_law_time_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    sp_law_time *time = &law->time;
    const sp_law_history *own = law->own;
    law->history = own;
    law->history_count = own ? own->count : 0;
    if (!sp_case_asks_for_time(request)) return SP_OK;
    sp_status status = take_flows(context, request, time);
    if (status == SP_OK) status = take_branches(context, request, time);
    if (status == SP_OK) status = take_left(context, request, time);
    if (status == SP_OK) status = take_softening(context, request, law, time);
    if (status != SP_OK) return status;
    time->on = 1;
    time->young = 2 * (1 + law->poisson_ratio) * law->shear_modulus;
    time->factor = sqrt(law->modulus / time->young);
    law->history = &in_time;
    law->history_count += BRANCHES + branches_count(time);
    return SP_OK;
}
