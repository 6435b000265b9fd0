# The longest tests of the program begin first: one that begins last would be waited for alone.
foreach(name "a faulty engine gives the right verdict or none" "commands bear every other file"
             "commands bear the other half of the files" "every template and textbook problem has a build sheet")
  set_tests_properties("program: ${name}" PROPERTIES COST 3)
endforeach()
