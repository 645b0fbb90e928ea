/* What the two halves of the sample firmware share. */
#ifndef SAMPLE_H
#define SAMPLE_H

#include "model/firmware.h"
#include "planted.h"

extern const drybus_firmware sample_plate;
extern const drybus_firmware sample_module;

#endif
