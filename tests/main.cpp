#define DOCTEST_CONFIG_IMPLEMENT
#include <doctest/doctest.h>

#include <cstdlib>

int main(int argc, char** argv) {
  // Programs that tests start speak English, whoever sits here.
  ::setenv("LC_ALL", "C.UTF-8", 1);
  return doctest::Context{argc, argv}.run();
}
