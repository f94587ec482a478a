#ifndef OHMWARD_C_OHMWARD_H
#define OHMWARD_C_OHMWARD_H

/**
 * @file
 * The whole C interface. A program without a C++ library includes "ohmward_c/embedded.h" alone.
 */

#include "ohmward_c/embedded.h"
#include "ohmward_c/hosted.h"

#endif
