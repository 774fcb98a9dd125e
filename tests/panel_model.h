/* These functions set up plates and tubes of panels line by line, for checks against the plates of
 * handbooks, without contact.
 *
 * The order of calls is plate_begin, plate_line and plate_wall, plate_mesh, plate_hold,
 * plate_ready, then solve. Every failure fails the test that calls. */
#ifndef TESTS_PANEL_MODEL_H
#define TESTS_PANEL_MODEL_H

#include "check.h"

#include "model/model.h"
#include "state/system.h"

enum {
    PLATE_X = 1,
    PLATE_Y = 2,
    PLATE_Z = 4,
    PLATE_SPIN_X = 8,
    PLATE_SPIN_Y = 16,
    PLATE_SPIN_Z = 32
};

typedef struct plate {
    sp_context context;
    double across_layers; /* modulus upright / modulus along the layers */
    double flanks;        /* height of layers with round flanks, 0: flat [mm] */
    double skin;          /* solid layers on both faces, inside the height; 0: none [mm] */
    sp_law law;
    sp_network plan, network;
    sp_model model;
    sp_system system;
    double *start; /* values of all nodes: the last state */
    double travel; /* travel of that state */
} plate;

/* Begin a plate under the linear law of modulus 1 MPa in a box of this height. Lines are places in
 * its plane seen from above: x, and y = -z. */
void plate_begin(plate *p, double height, double poisson_ratio);
void plate_end(plate *p);
int plate_line(plate *p, double x, double y);
void plate_wall(plate *p, int from, int to, double thickness);
/* Cut a wall of mean length into `across` cells; only the height of both faces is held so far. */
void plate_mesh(plate *p, int across);
/* Hold the unknowns of `directions` at every node whose unloaded place `is_there` says. */
void plate_hold(plate *p, int (*is_there)(const plate *p, const double at[3]), int directions);
/* Mark the edge that `is_there` says as held: it needs no part that makes up for the twist of a
 * free edge. */
void plate_not_free(plate *p, int (*is_there)(const plate *p, const double at[3]));
/* Return the node nearest to a place. */
int plate_node(const plate *p, double x, double y, double z);
void plate_ready(plate *p);

/* Return how far the node moves under a small unit force there along x, y or z (0, 1, 2), from the
 * unloaded state. */
double plate_compliance(plate *p, int node, int direction);

/* Find the equilibrium at this travel, stable or not; returns the platen force. */
double plate_follow(plate *p, double travel);
/* Find the stable equilibrium at this travel with the held nodes of `is_there` moved by `widening`
 * along x since the last call, from the last state, with one node pushed aside by `bow`; returns
 * the platen force, *across gets the force with which those nodes pull. */
double plate_descend(plate *p, double travel, double widening,
                     int (*is_there)(const plate *p, const double at[3]), int node, double bow,
                     double *across);
/* Return the platen force at which the path from 0 loses stability below the travel `most`; fails
 * where it loses none. */
double plate_critical(plate *p, double most);

#endif
