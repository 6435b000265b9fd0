#pragma once

#include "core/circuit/question.h"
