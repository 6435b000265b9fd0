#pragma once

#include <string>

#include "cli/render/regress/regress_report.h"

namespace benchproof {

/// The report in the form that test services read, JUnit XML: a suite for each circuit,
/// a case for each of its states and runs. A refused circuit has one case, "reading".
void put_junit_xml(const RegressReport& report, const PutText& put);

/// The report as TAP, version 14 (testanything.org): a point for each state and run.
void put_tap_text(const RegressReport& report, const PutText& put);

}  // namespace benchproof
