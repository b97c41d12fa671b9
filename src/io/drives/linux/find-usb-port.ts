/**
 * `1-2.3` from `/sys/devices/…/usb1/1-2/1-2.3/1-2.3:1.0/host0/…`: the bus, and the ports on the way, of the interface that is
 * nearest to the drive (Linux Documentation/driver-api/usb/usb.rst and Documentation/ABI/stable/sysfs-bus-usb: BUS-PORT[.PORT]…:CONFIG.INTERFACE).
 */
export const findUsbPort = (sysPath: string): string | undefined =>
  sysPath
    .split('/')
    .map((part) => /^(\d+-\d+(?:\.\d+)*):\d+\.\d+$/.exec(part)?.[1])
    .findLast((port) => port !== undefined);
