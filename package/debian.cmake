# The Debian package: `cpack` in a build folder makes it of that build. It has what people use
# (program, worker, templates, part data, schema, manual pages, completions), not the library.
# tests/package builds it, looks at it and tries it.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME ${PROJECT_NAME})
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(BENCHPROOF_MAINTAINER "the benchproof authors <benchproof@debian.invalid>"
    CACHE STRING "Who makes the Debian package: a name and an address")
set(CPACK_PACKAGE_CONTACT "${BENCHPROOF_MAINTAINER}")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_COMPONENTS_ALL program)
set(CPACK_COMPONENT_PROGRAM_DESCRIPTION
"proves small DC circuits before they are built
For LEDs, transistors, relays, motors and regulators on extra-low voltage, as
in scale models, props and displays. A circuit is described in a text file;
benchproof works out every voltage and current in every operating state and
run with two independent solvers that must agree, holds each part to its
published ratings and the circuit to what is expected of it, and tells in
plain words what is safe, what is not, and why.")
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME ${PROJECT_NAME})
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION electronics)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_STRIP_FILES ON)
# Moves and packs what Debian wants elsewhere or otherwise than `cmake --install` puts it.
set(CPACK_PRE_BUILD_SCRIPTS "${CMAKE_CURRENT_LIST_DIR}/debian_places.cmake")
set(CPACK_BENCHPROOF_PACKAGE "${CMAKE_CURRENT_LIST_DIR}")
include(CPack)
