/* Reference solutions for the arrest engine, by CVODE of SUNDIALS.

   Chains of polynomial textiles with Maxwell branches on a rigid, massless, damped or massive rig, in
   rate form, with CVODE's own root finding. cvode_reference.py compiles it, feeds it and records what
   it prints. Debian: libsundials-dev 6.4.1.

   stdin: mass fall until strength
          kind(0 rigid, 1 massless, 2 damped, 3 massive) stiffness damping node_mass
          textiles; then for each: L E1 E2 E3 branches (E tau)...
   stdout: lines "event time [value]" */
#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdio.h>
#include <stdlib.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sundials/sundials_config.h>

#define MAXT 8
#define MAXB 8
static const double G = 9.80665;

typedef struct {
  double L, E[3], EM[MAXB], tau[MAXB];
  int nb, at;
} textile;

typedef struct {
  double m, fall, until, strength, k, c, mc;
  int kind, nt, slack, parted, n, rig;
  textile x[MAXT];
} model;

static double el(const textile *t, double e) { return e * (t->E[0] + e * (t->E[1] + e * t->E[2])); }
static double tangent(const textile *t, double e) { return t->E[0] + e * (2 * t->E[1] + 3 * e * t->E[2]); }

static double force(const model *p, const double *y) {
  if (p->slack || p->parted) return 0;
  const textile *t = &p->x[0];
  double f = el(t, y[t->at]);
  for (int j = 0; j < t->nb; j++) f += y[t->at + 1 + j];
  return f;
}

/* rates: y = x v xc vc u(spring) then e q... of each textile; returns dF/dt */
static double rates(const model *p, const double *y, double *d) {
  double f = force(p, y), sumc = 0, sumr = 0, K[MAXT], R[MAXT], vc = 0;
  for (int i = 0; i < p->n; i++) d[i] = 0;
  d[0] = y[1];
  d[1] = G - f / p->m;
  if (p->kind == 3) {
    d[2] = y[3];
    d[3] = (f - p->k * y[2] - p->c * y[3]) / p->mc;
    vc = y[3];
  } else if (p->kind == 2) {
    d[2] = (f - p->k * y[2]) / p->c;
    vc = d[2];
  }
  if (p->parted) return 0;
  for (int i = 0; i < p->nt; i++) {
    const textile *t = &p->x[i];
    K[i] = tangent(t, y[t->at]);
    R[i] = 0;
    for (int j = 0; j < t->nb; j++) {
      K[i] += t->EM[j];
      R[i] += y[t->at + 1 + j] / t->tau[j];
    }
    sumc += t->L / K[i];
    sumr += t->L * R[i] / K[i];
  }
  if (p->kind == 1) sumc += 1 / p->k;
  double df = p->slack ? 0 : (y[1] - vc - sumr) / sumc;
  if (p->kind == 1) d[4] = df / p->k;
  for (int i = 0; i < p->nt; i++) {
    const textile *t = &p->x[i];
    d[t->at] = (df + R[i]) / K[i];
    for (int j = 0; j < t->nb; j++) d[t->at + 1 + j] = t->EM[j] * d[t->at] - y[t->at + 1 + j] / t->tau[j];
  }
  return df;
}

static int rhs(realtype t, N_Vector y, N_Vector d, void *data) {
  (void)t;
  rates(data, N_VGetArrayPointer(y), N_VGetArrayPointer(d));
  return 0;
}

static double cell(const model *p, const double *y) { return p->kind == 3 ? p->k * y[2] + p->c * y[3] : force(p, y); }

/* roots: 0 slack or taut again, 1 break, 2 extremum of the load cell's force, 3 lowest point */
static int roots(realtype t, N_Vector yv, realtype *g, void *data) {
  (void)t;
  const model *p = data;
  const double *y = N_VGetArrayPointer(yv);
  double d[64], df = rates(p, y, d);
  if (p->parted) {
    g[0] = g[1] = g[2] = g[3] = 1;
    return 0;
  }
  if (p->slack) {
    double s = y[0] - y[2];
    for (int i = 0; i < p->nt; i++) s -= p->x[i].L * y[p->x[i].at];
    g[0] = s;
  } else {
    g[0] = force(p, y);
  }
  g[1] = p->strength - force(p, y);
  g[2] = p->kind == 3 ? p->k * y[3] + p->c * d[3] : df;
  g[3] = y[1];
  return 0;
}

int main(void) {
  model p = {0};
  if (scanf("%lf %lf %lf %lf %d %lf %lf %lf %d", &p.m, &p.fall, &p.until, &p.strength, &p.kind, &p.k, &p.c, &p.mc, &p.nt) != 9) return 2;
  p.n = 5;
  for (int i = 0; i < p.nt; i++) {
    textile *t = &p.x[i];
    if (scanf("%lf %lf %lf %lf %d", &t->L, &t->E[0], &t->E[1], &t->E[2], &t->nb) != 5) return 2;
    for (int j = 0; j < t->nb; j++)
      if (scanf("%lf %lf", &t->EM[j], &t->tau[j]) != 2) return 2;
    t->at = p.n;
    p.n += 1 + t->nb;
  }
  if (p.strength <= 0) p.strength = 1e300;
  SUNContext ctx;
  SUNContext_Create(NULL, &ctx);
  N_Vector y = N_VNew_Serial(p.n, ctx);
  double *a = N_VGetArrayPointer(y);
  for (int i = 0; i < p.n; i++) a[i] = 0;
  a[1] = sqrt(2 * G * p.fall);
  SUNMatrix A = SUNDenseMatrix(p.n, p.n, ctx);
  SUNLinearSolver ls = SUNLinSol_Dense(y, A, ctx);
  double t = 0, peak = 0, peak_at = 0, lowest = 0;
  printf("taut 0\n");
  while (t < p.until) {
    void *cv = CVodeCreate(CV_BDF, ctx);
    CVodeInit(cv, rhs, t, y);
    CVodeSStolerances(cv, 1e-13, 1e-15);
    CVodeSetUserData(cv, &p);
    CVodeSetLinearSolver(cv, ls, A);
    CVodeSetMaxNumSteps(cv, 50000000);
    CVodeSetStopTime(cv, p.until);
    CVodeSetNoInactiveRootWarn(cv);
    CVodeRootInit(cv, 4, roots);
    int dir[4] = {p.slack ? 1 : -1, -1, -1, -1};
    CVodeSetRootDirection(cv, dir);
    int changed = 0;
    while (!changed) {
      int flag = CVode(cv, p.until, y, &t, CV_NORMAL);
      if (flag < 0) return 3;
      if (flag != CV_ROOT_RETURN) break;
      int hit[4];
      CVodeGetRootInfo(cv, hit);
      if (hit[2] && !p.slack && cell(&p, a) > peak) peak = cell(&p, a), peak_at = t;
      if (hit[3] && a[0] > lowest) lowest = a[0];
      if (hit[1]) {
        printf("break %.15g\n", t);
        if (cell(&p, a) > peak) peak = cell(&p, a), peak_at = t;
        p.parted = changed = 1;
      } else if (hit[0] && !p.slack) {
        printf("peak %.15g %.15g\nslack %.15g\n", peak_at, peak, t);
        peak = 0;
        p.slack = changed = 1;
      } else if (hit[0]) {
        printf("taut %.15g\n", t);
        p.slack = 0;
        changed = 1;
      }
    }
    CVodeFree(&cv);
    if (!changed) break;
  }
  if (peak > 0 || (!p.slack && !p.parted)) {
    if (cell(&p, a) > peak) peak = cell(&p, a), peak_at = t;
    printf("peak %.15g %.15g\n", peak_at, peak);
  }
  if (a[0] > lowest) lowest = a[0];
  printf("end %.15g %.15g\nlowest %.15g\nversion %s\n", a[0], a[1], lowest, SUNDIALS_VERSION);
  return 0;
}
