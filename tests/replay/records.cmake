# PROGRAM records FILES in FOLDER and replays them, with AVX2 and FMA and without.
file(REMOVE_RECURSE ${FOLDER})
file(MAKE_DIRECTORY ${FOLDER})
execute_process(COMMAND ${PROGRAM} write ${FOLDER} ${FILES} COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${PROGRAM} replay ${FOLDER} COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${CMAKE_COMMAND} -E env GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2_Usable,-FMA_Usable,-AVX2,-FMA,-AVX512F
  ${PROGRAM} replay ${FOLDER} OUTPUT_VARIABLE told COMMAND_ERROR_IS_FATAL ANY)
string(REGEX MATCHALL "decisions\n" lines "${told}")
list(LENGTH lines replayed)
list(LENGTH FILES recorded)
if(NOT replayed EQUAL recorded)
  message(FATAL_ERROR "${recorded} were recorded, ${replayed} replayed:\n${told}")
endif()
message("${told}")
