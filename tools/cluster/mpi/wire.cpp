#include "tools/cluster/mpi/wire.h"

#include <mpi.h>

#include <cstdlib>

#include "model/words/words.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::tr;

namespace {

constexpr int our_tag = 7;

}  // namespace

Wire::Wire(int* argc, char*** argv) {
  int provided = 0;
  if (MPI_Init_thread(argc, argv, MPI_THREAD_FUNNELED, &provided) != MPI_SUCCESS ||
      provided < MPI_THREAD_FUNNELED)
    throw Unusable{tr("MPI cannot be begun with threads beside it")};
  // A message to a rank that is gone is lost, and nothing more.
  MPI_Comm_set_errhandler(MPI_COMM_WORLD, MPI_ERRORS_RETURN);
  int rank = 0;
  int size = 1;
  MPI_Comm_rank(MPI_COMM_WORLD, &rank);
  MPI_Comm_size(MPI_COMM_WORLD, &size);
  rank_ = static_cast<std::size_t>(rank);
  size_ = static_cast<std::size_t>(size);
}

void Wire::send(std::size_t to, const Message& message) const {
  const std::string bytes = to_bytes(message);
  MPI_Send(bytes.data(), static_cast<int>(bytes.size()), MPI_BYTE, static_cast<int>(to), our_tag,
           MPI_COMM_WORLD);
}

std::optional<Wire::Received> Wire::receive() {
  int there = 0;
  MPI_Status status{};
  if (MPI_Iprobe(MPI_ANY_SOURCE, our_tag, MPI_COMM_WORLD, &there, &status) != MPI_SUCCESS || there == 0)
    return std::nullopt;
  int size = 0;
  MPI_Get_count(&status, MPI_BYTE, &size);
  std::string bytes(static_cast<std::size_t>(size), '\0');
  if (MPI_Recv(bytes.data(), size, MPI_BYTE, status.MPI_SOURCE, our_tag, MPI_COMM_WORLD, MPI_STATUS_IGNORE) !=
      MPI_SUCCESS)
    return std::nullopt;
  auto message = message_from(bytes);
  if (!message) return std::nullopt;
  return Received{static_cast<std::size_t>(status.MPI_SOURCE), std::move(*message)};
}

void Wire::leave() {
  MPI_Finalize();
}

void Wire::end_job(int code) {
  MPI_Abort(MPI_COMM_WORLD, code);
  std::_Exit(code);
}

}  // namespace drybus::tools
