/* Everything a program that presses coupons needs. Units: mm, N, MPa, mJ (N mm); angles in degrees
 * in a case. */
#ifndef STRUTPRESS_H
#define STRUTPRESS_H

#include <strutpress/batch.h>
#include <strutpress/bench.h>
#include <strutpress/calibrate.h>
#include <strutpress/case.h>
#include <strutpress/compare.h>
#include <strutpress/context.h>
#include <strutpress/cushion.h>
#include <strutpress/filament.h>
#include <strutpress/forecast.h>
#include <strutpress/inspect.h>
#include <strutpress/material.h>
#include <strutpress/measure.h>
#include <strutpress/mesh_file.h>
#include <strutpress/network.h>
#include <strutpress/path.h>
#include <strutpress/print.h>
#include <strutpress/protocol.h>
#include <strutpress/records.h>
#include <strutpress/report.h>
#include <strutpress/resolve.h>
#include <strutpress/rig.h>
#include <strutpress/run.h>
#include <strutpress/seek.h>
#include <strutpress/status.h>
#include <strutpress/store.h>
#include <strutpress/toolpath.h>
#include <strutpress/version.h>
#include <strutpress/write.h>

#endif
