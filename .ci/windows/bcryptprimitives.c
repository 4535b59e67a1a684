/* For trying the programs under an older wine only: the one function that Rust's library asks of bcryptprimitives.dll, which
   Windows 10 and later have themselves. Never packed. */
#include <windows.h>

BOOLEAN NTAPI SystemFunction036(PVOID buffer, ULONG length);

__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE data, SIZE_T length) {
    return SystemFunction036(data, (ULONG)length);
}
