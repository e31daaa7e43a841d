# Runs PROGRAM on FILES twice, the second time without AVX2 and FMA for the C library, and wants the same text.
execute_process(COMMAND ${PROGRAM} ${FILES} OUTPUT_VARIABLE once COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${CMAKE_COMMAND} -E env GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2_Usable,-FMA_Usable,-AVX2,-FMA,-AVX512F
  ${PROGRAM} ${FILES} OUTPUT_VARIABLE again COMMAND_ERROR_IS_FATAL ANY)
if(NOT once STREQUAL again)
  message(FATAL_ERROR "the decisions differ:\n${once}\nand then\n${again}")
endif()
if(NOT once MATCHES "events")
  message(FATAL_ERROR "no decision was printed")
endif()
message("${once}")
