"""T4: a picture through three PSFs."""

from functools import partial

import cv2
import numpy as np
import pyfftw
import scipy.fft
import scipy.special

cv2.setNumThreads(1)

HEIGHT, WIDTH, KERNEL = 3000, 4000, 257
EDGE = KERNEL // 2


def picture_and_kernels():
    """A picture of noise and bars, plane after plane (which favours these libraries), and off-centre PSFs."""
    picture = np.random.default_rng(1891).random((3, HEIGHT, WIDTH), dtype=np.float32)
    picture[:, 500:2500, 1000:3000:200] += 1
    place = np.arange(KERNEL) - EDGE
    kernels = []
    for scale in (0.11, 0.13, 0.155):
        w = scale * np.hypot(place[:, None] - 3.3, place + 7.1)
        psf = (2 * scipy.special.j1(w) / w) ** 2
        kernels.append(psf / psf.sum())
    return picture, np.array(kernels)


def mirrored(plane):
    return cv2.copyMakeBorder(plane, EDGE, EDGE, EDGE, EDGE, cv2.BORDER_REFLECT_101)


def whole_fft(picture, kernels):
    """SciPy, one transform a plane."""
    result = np.empty(picture.shape, picture.dtype)
    size = [scipy.fft.next_fast_len(n + 2 * EDGE, real=True) for n in picture.shape[1:]]
    for out, plane, kernel in zip(result, picture, kernels.astype(picture.dtype)):
        spectrum = scipy.fft.rfft2(mirrored(plane), size, workers=1)
        spectrum *= scipy.fft.rfft2(kernel, size, workers=1)
        full = scipy.fft.irfft2(spectrum, size, workers=1, overwrite_x=True)
        out[:] = full[2 * EDGE : 2 * EDGE + HEIGHT, 2 * EDGE : 2 * EDGE + WIDTH]
    return result


class TiledFftw:
    """Overlap-save in float32 tiles small enough to stay near the processor."""

    def __init__(self, rows, columns):
        self.real = pyfftw.zeros_aligned((rows, columns), "float32")
        self.spectrum = pyfftw.zeros_aligned((rows, columns // 2 + 1), "complex64")
        options = {"axes": (0, 1), "flags": ("FFTW_MEASURE", "FFTW_DESTROY_INPUT"), "threads": 1}
        self.forward = pyfftw.FFTW(self.real, self.spectrum, **options)
        self.back = pyfftw.FFTW(self.spectrum, self.real, direction="FFTW_BACKWARD", **options)

    def __call__(self, picture, kernels):
        result = np.empty_like(picture)
        rows, columns = self.real.shape
        for out, plane, kernel in zip(result, picture, kernels):
            self.real[:] = 0
            self.real[:KERNEL, :KERNEL] = kernel
            self.forward.execute()
            transfer = self.spectrum / np.float32(rows * columns)
            source = mirrored(plane)
            for top in range(0, HEIGHT, rows - 2 * EDGE):
                for left in range(0, WIDTH, columns - 2 * EDGE):
                    tile = source[top : top + rows, left : left + columns]
                    if tile.shape != self.real.shape:
                        self.real[:] = 0
                    self.real[: tile.shape[0], : tile.shape[1]] = tile
                    self.forward.execute()
                    np.multiply(self.spectrum, transfer, out=self.spectrum)
                    self.back.execute()
                    target = out[top : top + rows - 2 * EDGE, left : left + columns - 2 * EDGE]
                    target[:] = self.real[2 * EDGE :, 2 * EDGE :][: target.shape[0], : target.shape[1]]
        return result


def opencv(picture, kernels):
    """filter2D correlates, so the kernel is turned; it goes through tiled DFTs of its own at this size."""
    result = np.empty_like(picture)
    for out, plane, kernel in zip(result, picture, kernels.astype(np.float32)):
        cv2.filter2D(plane, -1, kernel[::-1, ::-1], dst=out, borderType=cv2.BORDER_REFLECT_101)
    return result


def task_picture():
    picture, kernels = picture_and_kernels()
    truth = whole_fft(picture.astype(float), kernels)
    yield "pyfftw tiles of 1024 x 1280", partial(TiledFftw(1024, 1280), picture, kernels), truth
    yield "scipy whole picture", partial(whole_fft, picture, kernels), truth
    yield "opencv filter2D", partial(opencv, picture, kernels), truth
