# Run by cpack between installing and packing. The Debian Policy Manual wants manual pages and
# the changelog compressed and a file named copyright; Debian's zsh looks for completions of
# packages in a folder of its own.
file(GLOB roots "${CPACK_TEMPORARY_INSTALL_DIRECTORY}/*/usr")
foreach(root ${roots})
  set(doc "${root}/share/doc/benchproof")
  file(COPY "${CPACK_BENCHPROOF_PACKAGE}/copyright" "${CPACK_BENCHPROOF_PACKAGE}/changelog"
       DESTINATION "${doc}")
  file(GLOB pages "${root}/share/man/man1/*.1")
  execute_process(COMMAND gzip -9nf ${pages} "${doc}/changelog" COMMAND_ERROR_IS_FATAL ANY)
  file(MAKE_DIRECTORY "${root}/share/zsh/vendor-completions")
  file(RENAME "${root}/share/zsh/site-functions/_benchproof"
              "${root}/share/zsh/vendor-completions/_benchproof")
  file(REMOVE_RECURSE "${root}/share/zsh/site-functions")
endforeach()
